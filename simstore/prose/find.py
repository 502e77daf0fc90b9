"""What a search found, in plain words for the terminal: the answer first, then its evidence, then what more buys."""

from __future__ import annotations

from collections.abc import Iterator

from simstore.plans.candidates import Candidate
from simstore.prose.result import cautions
from simstore.prose.terminal import aligned, number, share_limits_said, share_said, signed, wrapped
from simstore.results.objective import SIMULATED_COST
from simstore.study.find.search import Found
from simstore.study.find.tables import binding_of, next_cheaper, summary_of_choice

MOST_LISTED = 4


def find_words(found: Found) -> str:
    """Say what a search found, in lines of at most 80 characters."""
    blocks = list(_held(found) if found.chosen is not None else _nothing(found))
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    return "\n\n".join(block for block in [*blocks, cautions([(metrics, found.scenario.settings)])] if block) + "\n"


def _held(found: Found) -> Iterator[str]:
    chosen, currency = found.chosen, found.scenario.settings.prices.currency
    assert chosen is not None
    seen = found.finding.evidence[chosen]
    proof = seen.proof
    assert proof is not None
    cost = proof.cost
    yield wrapped(
        f"The cheapest plan that is proven to keep every metal class as the standards ask: {_said(found, chosen)}."
    )
    yield wrapped(
        f"It costs {number(cost.mean, 0)} {currency} a year ({number(cost.low, 0)} to {number(cost.high, 0)}), capital "
        f"and gel in use included. In {proof.met} of {proof.replications} fresh simulated years, which had no part in "
        f"choosing it, every standard was met: at least {100 * proof.share_low:.1f} % of years, where more than "
        f"{100 * found.options.target:g} % was asked (confidence {100 * found.options.confidence:g} % for the choice)."
    )
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    rows = [("metal", "ceiling", "standard", "held", "95 % interval")]
    for name, metal in found.scenario.settings.metals.items():
        measured = metrics.get(f"held_pct.{name}")
        if measured is not None:
            share = measured.estimate
            rows.append(
                (
                    name,
                    f"{metal.ceiling_rh_pct:g} %RH",
                    f"{metal.standard_pct:g} %",
                    share_said(share.mean),
                    share_limits_said(share.low, share.high),
                )
            )
    yield aligned(rows)
    yield wrapped(f"{binding_of(found)}.")
    yield _rivals(found)
    yield _marginal(found)
    yield _trade_off(found)
    yield _effort(found)


def _rivals(found: Found) -> str:
    finding = found.finding
    lines = []
    cheaper = next_cheaper(found)
    if cheaper is not None:
        lines.append(wrapped(f"The next cheaper plan, {cheaper.name}: {finding.evidence[cheaper].reason}."))
    if finding.runner_up is not None and finding.runner_up != cheaper:
        evidence = finding.evidence[finding.runner_up]
        lines.append(wrapped(f"The runner-up, {finding.runner_up.name}: {evidence.reason}."))
    alike = tuple(plan for plan in finding.alike if plan not in finding.undecided_cheaper)
    if alike:
        lines.append(_listed("Not told apart from it by cost:", alike))
    if finding.undecided_cheaper:
        lines.append(_listed("Perhaps cheaper, neither thrown out nor proven:", finding.undecided_cheaper))
    return "\n".join(lines)


def _listed(head: str, plans: tuple[Candidate, ...]) -> str:
    lines = [head, *(wrapped(plan.name, first="  - ", then="    ") for plan in plans[:MOST_LISTED])]
    if len(plans) > MOST_LISTED:
        lines.append(f"  - and {len(plans) - MOST_LISTED} more, in find_candidates.csv")
    return "\n".join(lines)


def _marginal(found: Found) -> str:
    if not found.marginal:
        return ""
    settings = found.scenario.settings
    metal = _scarcest(found)
    rows = [("one step more or less", f"{metal} held, points", f"{settings.prices.currency} a year")]
    notes = []
    for row in found.marginal:
        if row.problem:
            rows.append((f"  {row.step.what}", "cannot run", ""))
            continue
        held, cost = row.differences[f"held_pct.{metal}"], row.differences[SIMULATED_COST]
        rows.append(
            (
                f"  {row.step.what}",
                f"{signed(held.mean, 2)} ± {held.half_width:.2f}",
                f"{signed(cost.mean, 0)} ± {cost.half_width:.0f}",
            )
        )
        if row.step.idle_hours_cost:
            notes.append(
                wrapped(
                    f"Hours are charged when they are worked; paid whether there is work or not, {row.step.what} "
                    f"costs {number(row.step.idle_hours_cost, 0)} {settings.prices.currency} a year."
                )
            )
    years = next((e.replications for r in found.marginal for e in r.differences.values()), 0)
    notes.append(wrapped(f"Differences over {years} years of equal luck; the intervals of a column hold together."))
    return "\n".join([aligned(rows), *notes])


def _scarcest(found: Found) -> str:
    """Name the metal whose held share is nearest to its standard under the chosen plan."""
    summary, _ = summary_of_choice(found)
    (metrics,) = summary.values()
    metals = found.scenario.settings.metals
    present = [name for name in metals if f"held_pct.{name}" in metrics]
    return min(present, key=lambda n: metrics[f"held_pct.{n}"].estimate.mean - metals[n].standard_pct)


def _trade_off(found: Found) -> str:
    front = [point for point in found.trade_off if point.on_front]
    if not front:
        return ""
    currency = found.scenario.settings.prices.currency
    lines = [
        wrapped(
            f"Plans that no simulated plan beats: {currency} a year, points by which the scarcest metal is over its "
            "standard, good years, plan (* the plan found)"
        )
    ]
    for point in front:
        mark = "*" if point.plan == found.chosen else " "
        years = f"{point.good_years:>3} of {point.replications:<3}"
        head = f"{mark} {number(point.cost, 0):>7} {point.margin_pct:+6.2f} {years} "
        lines.append(wrapped(point.plan.name, first=head, then=" " * len(head)))
    return "\n".join(lines)


def _effort(found: Found) -> str:
    said = {
        "simulated": "simulated by the search",
        "left_out_by_screening": "left out by the screening model",
        "left_out_as_twins": "as twins of cheaper ones",
        "not_needed": "not needed, since they are expected to cost no less than the plan found",
        "not_reached": "not reached before the search ended",
    }
    counts = found.counts()
    parts = ", ".join(f"{counts[name]} {words}" for name, words in said.items() if counts[name])
    text = f"{len(found.screened)} plan{'' if len(found.screened) == 1 else 's'}: {parts}."
    more = found.simulated_in_all - counts["simulated"]
    if more:
        text += (
            f" {more} of those that the search did not simulate were simulated all the same, to check the screening "
            f"model or for the trade-off: {found.simulated_in_all} in all."
        )
    return wrapped(
        f"{text} {len(found.bench.known)} simulated years together, each {_run(found)} from the state that the "
        "register gives."
    )


def _run(found: Found) -> str:
    years = found.scenario.settings.years
    return "one year" if years == 1 else f"a run of {years} years"


def _nothing(found: Found) -> Iterator[str]:
    short = found.shortage
    assert short is not None
    yield wrapped(
        "No plan of the search space is proven to keep every metal class as the standards ask in more than "
        f"{100 * found.options.target:g} % of years."
    )
    seen = found.finding.evidence.get(short.nearest)
    missing = ", ".join(f"{metal} by {points:.2f} points" for metal, points in short.missing_pct.items())
    text = f"The nearest is {_said(found, short.nearest)}"
    text += f": {seen.reason}" if seen is not None else ""
    text += f". On the mean it misses {missing}." if missing else ". On the mean it meets every standard."
    yield wrapped(text)
    yield wrapped(f"What is short: {short.short}.")
    if short.least is not None and short.evidence is not None:
        cost = short.evidence.cost
        costs = "" if cost is None else f", at {number(cost.mean, 0)} {found.scenario.settings.prices.currency} a year"
        yield wrapped(
            f"The least change that is proven to make it hold: {short.least.what}{costs} ({short.evidence.reason})."
        )
    else:
        tried = ", ".join(dict.fromkeys(each.resource for each in short.tried))
        yield wrapped(
            f"No single change that was tried ({tried}) is proven to make it hold: change more than one, house the "
            "objects otherwise, or ask for less."
        )
    yield _trade_off(found)
    yield _effort(found)


def _said(found: Found, plan: Candidate) -> str:
    label = found.scenario.settings.plans[plan.base].label
    own = f"plans.{plan.base}."
    changes = ", ".join(f"{key.removeprefix(own)} = {value}" for key, value in plan.changes)
    return f"'{plan.base}' ({label})" + (f" with {changes}" if changes else " as it stands")
