"""Whether the likelihood of an entry means what it says: each with whether eggs lay there. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nestwatch.synthetic.matching import overlap
from nestwatch.synthetic.reading import read_found, read_truth
from nestwatch.synthetic.scoring import Rules, is_near


def likelihoods(
    truth: Mapping[str, Any], night: Mapping[str, Any], *, rules: Rules | None = None
) -> list[tuple[float, bool]]:
    """(likelihood, eggs there) of every entry of a night file, rest and trial too, in order of rank.

    Eggs are there where a true nest shares time with the entry and lies within the gate of `rules`; two
    entries about one nest both hold eggs, which matching one to one would deny. Entries without a likelihood
    are left out.
    """
    rules = rules or Rules()
    nests = [event for event in read_truth(truth) if event.kind == "nest"]
    found = read_found(night)
    common = overlap([nest.span for nest in nests], [entry.span for entry in found]) > 0
    eggs = [
        any(common[i, j] and is_near(nest, entry, rules.gate_shells) for i, nest in enumerate(nests))
        for j, entry in enumerate(found)
    ]
    claimed = [dig.get("likelihood") for dig in sorted(night["digs"], key=lambda dig: int(dig["rank"]))]
    return [(float(p), held) for p, held in zip(claimed, eggs, strict=True) if p is not None]
