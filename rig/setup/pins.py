"""`[pins]`: where amplifier and gauges are wired to the computer itself, for source = "gpio"."""

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from rig.setup.values import true_is_no_number

Pin = Annotated[int, BeforeValidator(true_is_no_number), Field(ge=0, le=27)]


class Pins(BaseModel):
    """Pins by the BCM's numbers, not by their place on the header."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    data: Pin
    clock: Pin
    gain: Literal[64, 128] = 128
    rate_hz: Literal[10, 80] = 10
    surface_trigger: Pin | None = None
    surface_echo: Pin | None = None
    rim_trigger: Pin | None = None
    rim_echo: Pin | None = None

    @property
    def gauges(self) -> dict[str, tuple[int, int]]:
        """(trigger, echo) of each gauge."""
        found: dict[str, tuple[int, int]] = {}
        for name in ("surface", "rim"):
            trigger, echo = getattr(self, f"{name}_trigger"), getattr(self, f"{name}_echo")
            if trigger is not None and echo is not None:
                found[name] = (trigger, echo)
        return found

    @model_validator(mode="after")
    def _whole(self) -> Self:
        used: dict[Any, str] = {}
        for key in type(self).model_fields:
            pin = getattr(self, key)
            if key in ("gain", "rate_hz") or pin is None:
                continue
            if pin in used:
                raise ValueError(f"{used[pin]} and {key} cannot both be pin {pin}")
            used[pin] = key
        for name in ("surface", "rim"):
            if (f"{name}_trigger" in used.values()) != (f"{name}_echo" in used.values()):
                raise ValueError(f"give both {name}_trigger and {name}_echo")
        return self
