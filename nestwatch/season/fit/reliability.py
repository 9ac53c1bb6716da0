"""What likelihoods claimed against what was found: bins, Brier score and the diagram. Pure."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from nestwatch.season.fit.records import Bin, FitState, Judged

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Form = Literal["png", "svg"]
BINS = 10
INK, FAINT = "#22302a", "#b9c4bd"
_SIDE_INCH, _HEIGHT_INCH = 4.6, 4.8
_DPI = 150
# Blue and vermilion of Okabe & Ito 2008 (colour universal design); marks and titles tell them apart too.
BEFORE_LOOK, AFTER_LOOK = ("#0072b2", "o"), ("#d55e00", "s")

_NO_METADATA = {"png": {"Software": None}, "svg": {"Date": None, "Creator": None}}


@dataclass(frozen=True, slots=True)
class Panel:
    """One diagram: its title, the bins, and the look of their marks (colour, matplotlib marker)."""

    title: str
    bins: Sequence[Bin]
    look: tuple[str, str] = BEFORE_LOOK


def bins(likelihood: NDArray[np.float64], eggs: NDArray[np.bool_], *, count: int = BINS) -> list[Bin]:
    """Equal steps of likelihood that hold an entry; an entry on an edge belongs to the step below it."""
    edges = np.linspace(0.0, 1.0, count + 1)[1:-1]
    step = np.searchsorted(edges, likelihood)
    total = np.bincount(step, minlength=count)
    held = np.bincount(step, weights=eggs, minlength=count)
    claimed = np.bincount(step, weights=likelihood, minlength=count)
    return [Bin(float(claimed[n] / total[n]), int(held[n]), int(total[n])) for n in np.flatnonzero(total)]


def brier(likelihood: NDArray[np.float64], eggs: NDArray[np.bool_]) -> float:
    """Mean squared distance from what was found, 1 with eggs and 0 without (Brier 1950)."""
    return float(np.mean((likelihood - eggs) ** 2))


def judged(likelihood: NDArray[np.float64], eggs: NDArray[np.bool_]) -> Judged:
    """Likelihoods (n,) held against what was found (n,); n is at least 1."""
    return Judged(brier(likelihood, eggs), tuple(bins(likelihood, eggs)))


def diagram(panels: Sequence[Panel], form: Form = "png") -> bytes:
    """Reliability diagrams side by side as a file: the same bytes for the same panels."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    size = (_SIDE_INCH * len(panels), _HEIGHT_INCH)
    figure = Figure(figsize=size, dpi=_DPI, layout="compressed", facecolor="white")
    for axes, panel in zip(figure.subplots(1, len(panels), squeeze=False)[0], panels, strict=True):
        _draw(axes, panel)
    held = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "nestwatch"}):
        figure.savefig(held, format=form, metadata=_NO_METADATA[form])
    return held.getvalue()


def _draw(axes: Axes, panel: Panel) -> None:
    colour, mark = panel.look
    axes.plot([0, 1], [0, 1], color=FAINT, linewidth=1, linestyle="--")
    for each in panel.bins:
        axes.plot([each.claimed] * 2, each.interval, color=colour, linewidth=1)
        beside = (6, 4 if each.share < 0.1 else -10)  # clear of the frame
        axes.annotate(str(each.total), (each.claimed, each.share), beside, fontsize=8,
                      textcoords="offset points", color=INK)  # fmt: skip
    axes.plot([each.claimed for each in panel.bins], [each.share for each in panel.bins], mark, color=colour)
    axes.set(xlim=(-0.03, 1.03), ylim=(-0.03, 1.03), aspect="equal", title=panel.title)
    axes.set(xlabel="likelihood that was given", ylabel="share that held eggs (bars: exact 95 %)")


def panels_of(state: FitState) -> list[Panel]:
    """The likelihoods as built, and beside them, where a fit can be made, the fitted ones."""
    if state.before is None:
        return [Panel("as built: nothing found yet", ())]
    out = [Panel(f"as built: Brier score {state.before.brier:.3f}", state.before.bins)]
    if state.after is not None:
        title = f"fitted, nights left out: Brier score {state.after.brier:.3f}"
        out.append(Panel(title, state.after.bins, AFTER_LOOK))
    return out


def reliability_picture(state: FitState) -> bytes:
    """The diagram of a site as a PNG file, before and (where a fit can be made) after, side by side."""
    return diagram(panels_of(state))
