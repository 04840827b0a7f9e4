"""What a good unit costs: labour, material, energy by state, scrap by stage, maintenance, capital."""

from __future__ import annotations

import math
from typing import Any

from cellsim.describe.investment import value_of_scrap
from cellsim.money.flows import annuity
from cellsim.money.measured import BASE, PROPOSAL, Facts
from cellsim.money.year import Years

NO_WAGE = "the case says no wage, and a cost without labour would mislead"
NOTHING_MADE = "no good unit is made"


def labour_per_hour(years: Years, facts: Facts, which: int) -> float:
    """What people cost per working hour: paid time as in the contract, breaks included, times the wage.

    Those of the base are its crew by the cell file; the proposal has as many less as are really freed.
    Posts that come from other cells are paid there, unless they have a wage of their own.
    """
    case, drawn = years.case, years.drawn
    length = facts.shifts[BASE]
    longer = 1.0 if length is None else years.hours.paid / length[1]
    shift = 0.0  # money of a shift
    for name, people in facts.paid[BASE].items():
        wage = case.wages.get(name) or (None if name in facts.away else case.wage)
        shift += people * longer * float(drawn.of(wage)[0]) * years.hours.worked[BASE]
    if which == PROPOSAL:
        shift -= float(drawn.of(case.freed)[0]) * years.hours.paid * float(drawn.of(case.wage)[0])
    return shift / years.hours.worked[which]


def capital_per_year(years: Years) -> float:
    """What is bought as an even yearly cost: its present value over the annuity of its life.

    The life is at most the horizon; what it can be sold for at its end is taken off.
    """
    rate, of = float(years.rate[0]), years.drawn.of
    total = 0.0
    for item in years.case.items:
        life = float(years.case.horizon)
        if item.life is not None:
            life = min(life, float(of(item.life)[0]))
        residual = float(of(item.residual)[0]) / (1 + rate) ** life
        paid = float(of(item.price)[0]) + float(of(item.integration)[0])
        total += (paid - residual) / annuity(rate, life)
    return total


def unit_cost(years: Years, facts: Facts) -> dict[str, Any]:
    """Cost of a good unit of base and proposal once all gain is there, by component; they sum to the total.

    Costs of an hour are divided by the good units that are sold of it.  `reason` says why there is none.
    """
    if years.case.wage is None:
        return {"base": None, "proposal": None, "reason": NO_WAGE}
    if min(years.sold(BASE)[0], years.sold(PROPOSAL)[0]) <= 0:
        return {"base": None, "proposal": None, "reason": NOTHING_MADE}
    return {"base": _one(years, facts, BASE), "proposal": _one(years, facts, PROPOSAL), "reason": ""}


def _one(years: Years, facts: Facts, which: int) -> dict[str, Any]:
    case, of = years.case, years.drawn.of
    good, made, hours = (
        float(years.sold(which)[0]),
        float(years.made(which)[0]),
        float(years.worked[which][0]),
    )
    tariff = float(of(case.energy)[0])
    means = years.drawn.means
    energy = {group: float(row[which][0]) * tariff * made / good for group, row in means.energy.items()}
    scrap = {
        name: float(row[which][0]) * float(of(value_of_scrap(case, name))[0]) * made / good
        for name, row in means.scrap.items()
    }
    today = math.fsum(float(of(each)[0]) for each in case.running_today.values())
    running = today + (float(years.running()[0]) if which == PROPOSAL else 0.0)
    capital = capital_per_year(years) if which == PROPOSAL else 0.0
    parts = {
        "labour": labour_per_hour(years, facts, which) / good,
        "material": float(of(case.material)[0]),
        "energy": math.fsum(energy.values()),
        "scrap": math.fsum(scrap.values()),
        "running": running / hours / good,
        "capital": capital / hours / good,
    }
    return {
        "total": math.fsum(parts.values()),
        "parts": parts,
        "energy_by_state": energy,
        "scrap_by_station": scrap,
        "sold_per_hour": good,
    }
