"""The water at hand: the tap's lime, and a rain barrel."""

from typing import Literal, Self

from pydantic import Field, model_validator

from care_planner.typed_yaml.models import Mistake, Number, Strict, YesNo, wrong


class Tap(Strict):
    """What the tap gives. Alkalinity counts, not hardness: softened water keeps all of it.

    One of `alkalinity` and `hardness_dh` is given.
    """

    alkalinity: Number | None = Field(default=None, ge=0, le=2000, description="in `unit`")
    unit: Literal["mg/l", "mmol/l", "dh", "f", "e", "hco3"] = Field(
        default="mg/l", description="mg/l CaCO3, mmol/l, German, French or English degrees, mg/l HCO3"
    )
    hardness_dh: Number | None = Field(
        default=None, ge=0, le=100, description="total hardness, German degrees: an upper guess only"
    )
    softened: YesNo = False
    ec: Number | None = Field(default=None, ge=0, le=20, description="conductivity, dS/m")

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.alkalinity is None) == (self.hardness_dh is None):
            what = "alkalinity and hardness_dh" if self.alkalinity is not None else "no alkalinity"
            raise wrong(Mistake(f"tap has {what}", "allowed: alkalinity (better), or hardness_dh alone"))
        return self


class Barrel(Strict):
    """A rain barrel under a roof."""

    litres: Number = Field(gt=0, le=1_000_000)
    roof_m2: Number = Field(gt=0, le=100_000, description="the roof's ground plan")
    runoff: Number = Field(default=0.8, gt=0, le=1, description="share of the rain that comes down the pipe")
    first_flush_l: Number = Field(default=10, ge=0, le=10_000, description="lost of each day's rain, litres")
    winter: Literal["full", "emptied"] = Field(
        default="full", description="emptied: nothing is held from the first frost month to the last"
    )


class WaterFacts(Strict):
    """Tap and barrel."""

    tap: Tap | None = None
    barrel: Barrel | None = None
    rain_alkalinity: Number = Field(default=5, ge=0, le=200, description="of the rainwater, mg/l CaCO3")
    target: Number = Field(default=60, gt=0, le=500, description="wanted alkalinity, mg/l CaCO3")
