"""What all data files and all tables of a sheet share: types of fields, strictness, the page."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Minutes = Annotated[float, Field(gt=0, le=2880, description="minutes")]
TempC = Annotated[float, Field(ge=-40, le=120, description="°C")]
Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$")]
Name = Annotated[str, Field(min_length=1, pattern=r"^[^\x00-\x1f\x7f]*$")]  # fits in one line
Words = Annotated[str, Field(pattern=r"^[^\x00-\x1f\x7f]*$")]


class Strict(BaseModel):
    """What all tables of a data file share: nothing unknown, nothing infinite, nothing changes."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)


class Printed(Strict):
    """A table of numbers read from one page."""

    page: int = Field(ge=1, description="page of the product data sheet the numbers stand on")
    revision: str | None = Field(None, description="revision of that page, if not the sheet's own")
