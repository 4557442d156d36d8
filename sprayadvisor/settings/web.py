"""The table of the settings that says where the page is and who may see it."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BeforeValidator, Field, SecretStr, model_validator

from sprayadvisor.settings import crosscheck
from sprayadvisor.settings.fields import HostName, Section, WebAddress, listed
from sprayadvisor.settings.sections import Port


class Web(Section):
    """The page."""

    host: Annotated[str, Field(min_length=1)] = "127.0.0.1"
    """Address it listens on. Anything but this machine needs a passphrase."""
    port: Port = 8420
    """Port it listens on."""
    address: Annotated[WebAddress | None, Field(examples=["https://jobs.example.org"])] = None
    """What you type to reach it from your phone. With it each brief carries a link to its page."""
    allowed_hosts: Annotated[tuple[HostName, ...], BeforeValidator(listed)] = ()
    """Further names it may be called by, as "van.local", besides this machine's own, host and
    address."""
    passphrase: Annotated[SecretStr | None, Field(min_length=8, examples=["a long secret"])] = None
    """What opens the page; at least 8 characters.
    Better kept in a file named by SPRAYADVISOR_WEB__PASSPHRASE_FILE."""

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.web(self))
        return self
