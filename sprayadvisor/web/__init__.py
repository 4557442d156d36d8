"""The page, for one hand, gloves and sun glare; "The page" in DEVELOPERS.md tells of it."""
