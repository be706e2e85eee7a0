"""Warm: a step that may tell the heats it takes, or leave them out."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field, model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Lost
from billet.base.fields import Heats, Soak, Temperature
from billet.heating.heats import heats
from billet.steps.step import Step


class Warm(Step):
    """Base of the steps whose heats are optional; without `temperature` and `soak` nothing scales."""

    eats_faces: ClassVar[bool] = True
    temperature: Temperature | None = Field(
        None,
        description='How hot the bar is worked, given together with soak. Left out, no scale is counted for this step; example "1050 C".',
    )
    soak: Soak | None = Field(
        None,
        description='How long it stays that hot, counted once the core is as hot as the skin. Left out, no scale is counted; example "3 min".',
    )
    heats: Heats = Field(1, description="How many times it goes back to the fire for this step. Default 1; example 2.")

    @model_validator(mode="after")
    def _both_or_neither(self) -> Warm:
        if (self.temperature is None) != (self.soak is None):
            raise ValueError(
                'temperature: give temperature and soak together, such as temperature = "1100 C", soak = "5 min", or neither'
            )
        return self

    def heated(self, bar: Bar, bench: Bench) -> tuple[Bar, Lost]:
        """The bar after the heats of this step, before it is worked."""
        if self.temperature is None or self.soak is None:
            return bar, Lost()
        return heats(bar, bench, self.temperature, self.soak, self.heats)
