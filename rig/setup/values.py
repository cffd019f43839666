"""The kinds of value a person may write: what each must be, in words."""

import re
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field


def true_is_no_number(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError("this must be a number, not true or false")
    return value


def not_zero(value: float) -> float:
    if value == 0:
        raise ValueError("this must not be 0")
    return value


def plain_words(value: str) -> str:
    """Any language is fine; what cannot be seen or would break a line is not."""
    if not value.strip() or re.search(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]", value):
        raise ValueError("this must be one line of plain words")
    return value


def _source(value: str) -> str:
    if not re.fullmatch(r"serial:.+|gpio|demo", value):
        raise ValueError('this must be "serial:" and a port, or "gpio", or "demo"')
    return value


Number = Annotated[float, BeforeValidator(true_is_no_number)]
Positive = Annotated[Number, Field(gt=0, allow_inf_nan=False)]
Finite = Annotated[Number, Field(allow_inf_nan=False)]
NotNegative = Annotated[Number, Field(ge=0, allow_inf_nan=False)]
Sd = NotNegative  # a standard uncertainty
RoomC = Annotated[Number, Field(ge=0, le=30)]
Source = Annotated[str, AfterValidator(_source)]
