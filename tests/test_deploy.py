"""What lies in deploy/ fits the settings and is as tight as it says."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from sprayadvisor.settings import load_settings
from sprayadvisor.web.pages import machine

DEPLOY = Path(__file__).parent.parent / "deploy"


def test_the_example_environment_loads():
    """Every variable of the example is a setting, and together they make sense."""
    lines = (DEPLOY / "sprayadvisor.env.example").read_text(encoding="utf-8").splitlines()
    pairs = dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))
    settings = load_settings(pairs)
    assert settings.recipients == ("painter@example.org",)
    assert settings.mail.host is None


def variables(name):
    """Return the variables that a file of deploy/ sets, also where the line is commented out."""
    found = re.findall(r"(SPRAYADVISOR_\w+)[=:] ?(\S+)", (DEPLOY / name).read_text("utf-8"))
    return {key: value for key, value in found if key != "SPRAYADVISOR_CONFIG"}


@pytest.mark.parametrize("name", ["sprayadvisor.service", "Dockerfile", "compose.yaml"])
def test_variables_of_unit_and_image_are_settings(tmp_path, name):
    """They name no variable that the settings do not know, and what they set makes sense."""
    secrets = {
        "SPRAYADVISOR_WEB__PASSPHRASE_FILE": "correct horse",
        "SPRAYADVISOR_FORECAST__API_KEY_FILE": "x" * 12,
        "SPRAYADVISOR_DATABASE_URL_FILE": "postgresql+psycopg://sprayadvisor:x@postgres/sprayadvisor",
    }
    values = variables(name) | {"SPRAYADVISOR_WEB__PASSPHRASE_FILE": ""}  # the image wants one
    for key in {key for key in values if key.endswith("_FILE")}:
        values[key] = str(tmp_path / key)
        (tmp_path / key).write_text(secrets[key], encoding="utf-8")
    settings = load_settings(values)
    assert settings.web.passphrase.get_secret_value() == "correct horse"


def test_health_check_proxy_and_page_agree_on_port_and_path():
    """All speak of the port that is the setting's default, and of a path that the page has."""
    port = load_settings({}).web.port
    image, proxy = ((DEPLOY / name).read_text("utf-8") for name in ("Dockerfile", "nginx.conf"))
    compose = (DEPLOY / "compose.yaml").read_text("utf-8")
    assert f"EXPOSE {port}" in image
    assert f"http://127.0.0.1:{port}/healthz" in image
    assert f"proxy_pass http://127.0.0.1:{port};" in proxy
    assert f'"127.0.0.1:{port}:{port}"' in compose  # never on all addresses
    assert "/healthz" in {route.path for route in machine.router.routes}


def test_the_proxy_passes_on_what_the_page_needs_and_logs_no_link():
    """Host and scheme as they were asked for, the visitor as the proxy saw him."""
    proxy = (DEPLOY / "nginx.conf").read_text("utf-8")
    for header in ("Host $host", "X-Forwarded-Proto $scheme", "X-Forwarded-For $remote_addr"):
        assert f"proxy_set_header {header};" in proxy
    servers = proxy.count("server {")
    assert proxy.count("access_log off;") == servers == 2


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="systemd-analyze is not here")
def test_the_unit_is_hardened():
    """Its exposure, as systemd counts it, is 2 at most."""
    done = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", str(DEPLOY / "sprayadvisor.service")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    level = re.search(r"exposure level for \S+: ([\d.]+)", done.stdout)
    assert level, done.stderr
    assert float(level[1]) <= 2.0


def test_every_requirement_is_pinned_by_hash():
    """The pinned requirements carry hashes and no address."""
    text = (DEPLOY / "requirements.txt").read_text(encoding="utf-8")
    assert "http" not in re.sub(r"#.*", "", text)
    pins = re.findall(r"^([\w.-]+(?:\[[\w,]+\])?)==", text, re.MULTILINE)
    assert {"numpy", "pandas", "pvlib", "requests", "sqlalchemy"} <= set(pins)
    assert text.count("--hash=sha256:") >= len(pins)
