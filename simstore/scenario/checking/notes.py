"""Notes on a scenario that is allowed: what its user should know before believing a run."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from simstore.scenario.checking.view import View

CARCINOGEN: Final = "a carcinogen (EU candidate list of substances of very high concern)"


def notes_on(view: View) -> Iterator[str]:
    """Yield a sentence for each thing that the user should know before believing a run."""
    yield from _late_indicators(view)
    yield from _cobalt(view)
    yield from _free_gel(view)


def _late_indicators(view: View) -> Iterator[str]:
    """Name indicators that begin to turn above a ceiling: they speak when it is too late."""
    settings = view.settings
    for name, plan in settings.plans.items():
        if not plan.goes_by("indicator"):
            continue
        read = {plan.indicator} if plan.indicator else {settings.sorbents[s].indicator for s in view.used_sorbents()}
        for key in sorted(indicator for indicator in read if indicator is not None):
            starts_pct = settings.indicators[key].starts_rh_pct
            for metal in sorted(view.used_metals()):
                ceiling_pct = settings.metals[metal].ceiling_rh_pct
                if starts_pct >= ceiling_pct:
                    yield (
                        f"plan '{name}' reads '{key}', which begins to turn at {starts_pct:g} %RH: "
                        f"too late for '{metal}' with its ceiling of {ceiling_pct:g} %RH"
                    )


def _cobalt(view: View) -> Iterator[str]:
    settings = view.settings
    read = {plan.indicator for plan in settings.plans.values() if plan.goes_by("indicator")}
    mixed_in = {settings.sorbents[name].indicator for name in view.used_sorbents()}
    for key in sorted(name for name in read | mixed_in if name is not None):
        if settings.indicators[key].hazard == "cobalt":
            yield (
                f"indicator '{key}' holds cobalt dichloride, {CARCINOGEN}: gloves and dust mask, hazardous disposal; "
                "the supplier's safety data sheet and your local rules come first"
            )


def _free_gel(view: View) -> Iterator[str]:
    for name in sorted(view.used_sorbents()):
        if view.settings.sorbents[name].price_per_kg == 0:
            yield f"[sorbents.{name}] has no price_per_kg: costs leave the gel out"
