"""The known truth of an invented night as `truth.json`; every key is described in docs/synthetic.md."""

from __future__ import annotations

import json
from math import degrees
from typing import Any

from nestwatch.synthetic.layout import apparent
from nestwatch.synthetic.light import make_dusk
from nestwatch.synthetic.nuisances import Plan, kinds, make_plans
from nestwatch.synthetic.nuisances.creatures import guests
from nestwatch.synthetic.story import Actor, Event, Stage, Story, stream

FORMAT = "nestwatch-truth/1"


def truth(story: Story) -> dict[str, Any]:
    """Everything that happened, ready for JSON. Times are local with offset."""
    scenario, clock = story.scenario, story.clock
    dusk = make_dusk(scenario, clock, stream(story.seed, "dusk"))
    inside = 0 < dusk.dark_from < clock.seconds
    plans = make_plans(scenario, clock, story.seed)
    return {
        "format": FORMAT,
        "scenario": scenario.name,
        "seed": story.asked,
        **_chosen(story),
        "night": scenario.night.date.isoformat(),
        "from": _iso(story, 0.0),
        "to": _iso(story, clock.seconds),
        "infrared_from": _iso(story, dusk.dark_from) if inside else None,
        **_recorded(story),
        "animals": [
            *(_animal(story, actor) for actor in story.actors),
            *(_guest(story, actor) for actor in guests(plans, story.layout)),
        ],
        "nuisances": [_nuisance(story, plan) for plan in plans],
    }


def truth_text(story: Story) -> str:
    """`truth` as JSON text, the same bytes for the same seed."""
    return json.dumps(truth(story), indent=1, ensure_ascii=False) + "\n"


def _chosen(story: Story) -> dict[str, Any]:
    """Which variant, and whether the night is one without digging; nothing where the scenario has neither."""
    found: dict[str, Any] = {} if story.variant is None else {"variant": story.variant}
    return found if story.scenario.digging else {**found, "digging": False}


def _recorded(story: Story) -> dict[str, Any]:
    """Gaps, and clocks that are wrong; nothing where there are none."""
    clock = story.clock
    gaps = [
        {"from": _iso(story, clock.offset(gap.start)), "to": _iso(story, clock.offset(gap.end))}
        for gap in story.scenario.gap
    ]
    wrong = {name: ahead for name, ahead in story.clock_ahead.items() if ahead}
    return {**({"gaps": gaps} if gaps else {}), **({"clock_ahead_s": wrong} if wrong else {})}


def _iso(story: Story, t: float) -> str:
    return story.clock.wall(t).isoformat(timespec="seconds")


def _animal(story: Story, actor: Actor) -> dict[str, Any]:
    earlier = [_event(story, actor, event) for event in actor.earlier]
    return {
        "name": actor.name,
        "shell_cm": round(100 * actor.shell_m, 2),
        "contrast": round(actor.contrast, 3),
        "events": [_event(story, actor, event) for event in actor.events],
        **({"earlier": earlier} if earlier else {}),
    }


def _guest(story: Story, actor: Actor) -> dict[str, Any]:
    """A visitor that stays: no turtle, so without a shell."""
    length = round(100 * actor.shell_m, 1)
    events = [_event(story, actor, event) for event in actor.events if event.start < story.clock.seconds]
    return {"name": actor.name, "shell_cm": None, "length_cm": length, "contrast": None, "events": events}


def _event(story: Story, actor: Actor, event: Event) -> dict[str, Any]:
    dug = event.dug or event.kind == "raid"
    return {
        "kind": event.kind,
        "from": _iso(story, event.start),
        "to": _iso(story, event.end),
        "wander_from": _iso(story, event.wander),
        "stages": [_stage(story, stage) for stage in event.stages],
        "chamber_m": [round(value, 4) for value in event.rear] if dug else None,
        "body_m": [round(value, 4) for value in event.body(actor.shell_m)],
        "heading_plan_deg": round(degrees(event.heading), 1),
        "strokes_per_minute": round(event.cadence, 2) if event.dug else None,
        "ground_change": round(event.residual, 3),
        "per_camera": {name: _seen(story, actor, event, name) for name in story.layout.lenses},
    }


def _stage(story: Story, stage: Stage) -> dict[str, str]:
    return {"stage": stage.stage, "from": _iso(story, stage.start), "to": _iso(story, stage.end)}


def _seen(story: Story, actor: Actor, event: Event, camera: str) -> dict[str, Any]:
    lens = story.layout.lenses[camera]
    x, y = lens.project([(*event.rear, 0.0)])[0]
    length, direction, body = apparent(lens, event.body(actor.shell_m), event.heading, actor.shell_m)
    dug = event.dug or event.kind == "raid"
    return {
        "chamber_px": [round(float(x), 2), round(float(y), 2)] if dug else None,
        "body_px": [round(body[0], 2), round(body[1], 2)],
        "shell_px": round(length, 2),
        "heading_deg": round(direction, 1),
    }


def _nuisance(story: Story, plan: Plan) -> dict[str, Any]:
    settings = {key: round(v, 4) if isinstance(v, float) else v for key, v in plan.values.items()}
    start, end = kinds()[plan.kind].shows(plan, story.layout)
    return {"kind": plan.kind, "from": _iso(story, start), "to": _iso(story, end), **settings}
