"""What axe, the usual checker of accessibility, finds on a page."""


def faults(tab):
    """Return what axe finds, rules of the highest class included."""
    from axe_playwright_python.sync_playwright import Axe

    options = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
               "rules": {"color-contrast-enhanced": {"enabled": True},
                         "target-size": {"enabled": True}}}  # fmt: skip
    # As tall as the page, so that the bar at the bottom covers nothing.
    height = tab.evaluate("document.documentElement.scrollHeight")
    tab.set_viewport_size({"width": tab.viewport_size["width"], "height": height})
    found = Axe().run(tab, options=options).response["violations"]
    return [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found]
