"""What every section of a scenario file is made of."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Share = Annotated[float, Field(ge=0, le=1)]
Heavy = Annotated[float, Field(ge=1.05, le=25)]  # denser than water: what is swamped goes down


class Part(BaseModel):
    """A frozen section that refuses unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True)
