"""What to do at the spot, in order, and the cautions that stand with it.

Fences: IEC 60335-2-76 annex BB as reproduced by makers (head, neck and torso off the wires; no climbing
through). Washing and Salmonella: CDC advice (soap, 20 s). Depth: painted turtles' nests, top over 4 cm down
and about 5 cm tall (Ratterman & Ackerman 1989, Physiol. Zool. 62: 1059-1079, abstract). Marking the top and
never turning: the rule for sea turtles' eggs (Limpus, Baker & Miller 1979, Herpetologica 35: 335-338, figures
not seen). Digging by hand from the side, tools, box, and filling in: common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

from nestwatch.report.marking.lengths import short
from nestwatch.site.records import Units

CAUTIONS = (
    "The fence maker's manual, local law, your permits and licence, and your vet come first: where they "
    "differ from this sheet, they win. It gives no legal or veterinary advice; keeping turtles, taking or "
    "moving eggs may need a permit where you are."
)
SALMONELLA = "Healthy turtles carry Salmonella: keep tools, box and boots out of the kitchen."


@dataclass(frozen=True, slots=True)
class Step:
    """`do`: in a few words, in bold; `how`: the rest."""

    do: str
    how: str


def steps(units: Units, *, measured: bool) -> tuple[Step, ...]:
    """What to do on arriving, in order. `measured`: a tape leads to the spot, else pictures do."""
    beside, deep = short(0.10, units), f"{short(0.04, units)} to {short(0.10, units)}"
    spot = (
        "lay out both tapes, put a stake where they meet, compare with the pictures."
        if measured
        else "find it by the pictures from where the camera stands, put a stake there."
    )
    return (
        Step(
            "Fence off, confirmed dead",
            "with a tester, before you reach in. Never lean over or through wires.",
        ),
        Step(
            "Hands and tools", "clean hands or gloves, soft pencil, blunt spoon, rigid box with damp bedding."
        ),
        Step("Find the spot", spot),
        Step(
            "Dig by hand from the side",
            f"begin {beside} beside the stake, take thin layers towards it; eggs often lie {deep} down.",
        ),
        Step("Mark the top of each egg", "with the pencil, where it lies, before you lift it."),
        Step("Never turn it", "not in the hand, not in the box, not later; mark up all the way."),
        Step(
            "No eggs there", "widen to the ring on the plan, then fill in and write that down: it helps too."
        ),
        Step("Fence on again", "and confirmed live with the tester, gate shut."),
        Step("Wash", f"hands with soap, 20 seconds. {SALMONELLA}"),
    )
