"""What lies in deploy/ fits the settings and is as tight as it says."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from sprayadvisor.settings import load_settings

DEPLOY = Path(__file__).parent.parent / "deploy"


def test_the_example_environment_loads():
    """Every variable of the example is a setting, and together they make sense."""
    lines = (DEPLOY / "sprayadvisor.env.example").read_text(encoding="utf-8").splitlines()
    pairs = dict(line.split("=", 1) for line in lines if line and not line.startswith("#"))
    settings = load_settings(pairs)
    assert settings.recipients == ("painter@example.org",)
    assert settings.mail.host is None


def test_variables_of_unit_and_image_are_settings(tmp_path):
    """Unit and image name no variable that the settings do not know."""
    text = (DEPLOY / "sprayadvisor.service").read_text("utf-8") + (DEPLOY / "Dockerfile").read_text(
        "utf-8"
    )
    names = set(re.findall(r"SPRAYADVISOR_\w+", text)) - {"SPRAYADVISOR_CONFIG"}
    secret = tmp_path / "secret"
    secret.write_text("x" * 12, encoding="utf-8")
    values = {name: str(secret if name.endswith("_FILE") else tmp_path) for name in names}
    load_settings(values)


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
