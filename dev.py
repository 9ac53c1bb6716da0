#!/usr/bin/env python3
"""One door for everything a developer or a curious keeper does after cloning: `python dev.py --help`.

Standard library only. It makes `.venv`, installs the pinned and hashed packages of `requirements.lock`
and the project itself into it, and then does the job asked for with that Python. A second run finds the
stamp of the first and starts at once. Syntax is kept old enough that an old Python gets a clear answer.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import os
import platform
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
LOCK = ROOT / "requirements.lock"
STAMP = VENV / "nestwatch.stamp"
OLDEST = (3, 11)
WINDOWS = os.name == "nt"
# Debian packages that some tests need, each with the programs that make it unnecessary: ffprobe counts frames
# as an outside judge, systemd-analyze judges timer files, a browser drives the local pages (docs/outline.md).
OUTSIDE = {
    "ffmpeg": ("ffprobe",),
    "systemd": ("systemd-analyze",),
    "chromium": ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable"),
}
GATES = {
    "ruff check": ["-m", "ruff", "check", "."],
    "ruff format": ["-m", "ruff", "format", "--check", "."],
    "mypy": ["-m", "mypy"],
}


def say(message: str) -> None:
    """Tell the developer what is going on, on stderr, before a child process prints."""
    print(f"dev.py: {message}", file=sys.stderr, flush=True)


def in_venv(program: str) -> Path:
    """Path of a program inside `.venv`, whether or not it exists."""
    return VENV / ("Scripts" if WINDOWS else "bin") / (f"{program}.exe" if WINDOWS else program)


def run(*command: str | Path) -> int:
    """Run a command in the project's folder and hand back its exit code."""
    return subprocess.run([str(part) for part in command], cwd=ROOT, check=False).returncode


def must(what: str, *command: str | Path) -> None:
    """Run a command; where it fails, stop with one line that names the step."""
    code = run(*command)
    if code:
        raise SystemExit(f"dev.py: {what} failed (exit code {code}); what it printed stands above.")


# Setting up ------------------------------------------------------------------------------------------


def check_python() -> None:
    """Stop with one clear line on a Python that is too old or cannot make environments."""
    if sys.version_info < OLDEST:
        wanted = ".".join(map(str, OLDEST))
        raise SystemExit(
            f"dev.py: this is Python {platform.python_version()}; nestwatch needs {wanted} or newer. "
            f"Install one and run it by name, for example: python{wanted} dev.py test"
        )
    if not python_works() and importlib.util.find_spec("ensurepip") is None:
        major, minor = sys.version_info[:2]
        raise SystemExit(
            "dev.py: this Python cannot make environments (its module ensurepip is missing). "
            f"On Debian or Ubuntu: sudo apt-get install python{major}.{minor}-venv"
        )


def python_works() -> bool:
    """Whether `.venv` holds a Python that is new enough and has pip (a run cut short leaves half of one)."""
    if not in_venv("python").exists():
        return False
    probe = f"import sys, pip; sys.exit(sys.version_info < {OLDEST})"
    try:
        return not subprocess.run(
            [str(in_venv("python")), "-c", probe], check=False, capture_output=True
        ).returncode
    except OSError:  # not a program at all
        return False


def stamp() -> str:
    """What the environment must have been made from: the lock, the project's table, and where it stands."""
    parts = [LOCK.read_bytes(), (ROOT / "pyproject.toml").read_bytes(), str(ROOT).encode()]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def set_up() -> None:
    """Make `.venv` complete. Does nothing where the stamp says that it is."""
    check_python()
    if STAMP.exists() and STAMP.read_text() == stamp() and in_venv("python").exists():
        return
    if not LOCK.exists():
        raise SystemExit(f"dev.py: {LOCK.name} is missing; get it back with: git checkout -- {LOCK.name}")
    STAMP.unlink(missing_ok=True)
    if not python_works():
        say(f"making {VENV.name}")
        must("making .venv", sys.executable, "-m", "venv", "--clear", VENV)
    say("installing the pinned packages (a minute or two, the first time only)")
    pip: list[str | Path] = [
        in_venv("python"),
        "-m",
        "pip",
        "--disable-pip-version-check",
        "install",
        "--quiet",
    ]
    must("installing packages", *pip, "--require-hashes", "-r", LOCK)
    must("installing nestwatch", *pip, "--no-deps", "--no-build-isolation", "-e", ROOT)
    STAMP.write_text(stamp())


# Jobs ------------------------------------------------------------------------------------------------


def demo(rest: list[str]) -> int:
    """Render an invented night, run the main job on it, say where to look."""
    code = run(in_venv("nestwatch"), "demo", *(rest or ["build/demo"]))
    if not code:
        activate = r".venv\Scripts\activate" if WINDOWS else "source .venv/bin/activate"
        say(f"these commands are found after: {activate}")
    return code


def lint(_rest: list[str]) -> int:
    """Style, layout and types. Stops at the first gate that fails and names it."""
    for gate, arguments in GATES.items():
        say(gate)
        code = run(in_venv("python"), *arguments)
        if code:
            say(f"the gate '{gate}' failed")
            return code
    return 0


def test(rest: list[str]) -> int:
    """Style, types, then every test; what .ci/run calls. Anything after `test` goes to pytest."""
    offer_programs()
    code = lint([])
    if code:
        return code
    say("pytest")
    spread = [] if rest else ["-n", "2", "--dist", "loadfile"]
    return run(in_venv("python"), "-m", "pytest", *spread, *rest)


def offer_programs() -> None:
    """In CI, install what the tests need beside Python where Debian's root may: ffprobe and a browser."""
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not (os.environ.get("CI") and root and shutil.which("apt-get")):
        return
    missing = [package for package, programs in OUTSIDE.items() if not any(map(shutil.which, programs))]
    if missing:
        say(f"installing {' and '.join(missing)} for the tests")
        run("apt-get", "update", "-qq")
        run("apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing)


def bench(rest: list[str]) -> int:
    """Measure CPU seconds per camera-hour, peak memory and growth with the night's length."""
    return run(in_venv("python"), "-m", "bench.speed", *rest)


def nights(rest: list[str]) -> int:
    """Render every judging night, run the main job on each, print the table of what was found."""
    return run(in_venv("python"), "-m", "bench.nights", *rest)


def bad_nights(rest: list[str]) -> int:
    """Judge every family of bad nights, with and without a dig, beside what the obvious script gets."""
    return run(in_venv("python"), "-m", "bench.bad_nights", *rest)


def reliability(rest: list[str]) -> int:
    """Compare the likelihoods of all judged nights with what lay there, and draw it."""
    return run(in_venv("python"), "-m", "bench.reliability", *rest)


def fit_likelihood(rest: list[str]) -> int:
    """Fit the two numbers of the likelihood anew on building nights and print them."""
    return run(in_venv("python"), "-m", "bench.fit_likelihood", *rest)


def lock(rest: list[str]) -> int:
    """Choose package versions anew for every supported Python and system and write requirements.lock."""
    options = ["--universal", "--generate-hashes", "--no-emit-index-url", "--no-header", "--no-annotate"]
    wanted = ["--python-version", ".".join(map(str, OLDEST)), "--extra", "dev", "--quiet"]
    fresh = LOCK.with_suffix(".new")
    fresh.write_bytes(LOCK.read_bytes() if LOCK.exists() else b"")
    code = run(in_venv("uv"), "pip", "compile", *options, *wanted, *rest, "pyproject.toml", "-o", fresh.name)
    if code == 0:
        os.replace(fresh, LOCK)
        say(f"{LOCK.name} written; the next command installs from it")
    fresh.unlink(missing_ok=True)
    return code


LONG = {
    "bench": bench,
    "nights": nights,
    "bad-nights": bad_nights,
    "reliability": reliability,
    "fit-likelihood": fit_likelihood,
}
"""Measurements, which explain their own options."""
JOBS = {"demo": demo, "test": test, "lint": lint, **LONG, "lock": lock}


def main() -> int:
    """Read the command line, set up, do the job; the exit code is the job's."""
    parser = argparse.ArgumentParser(prog="dev.py", description=(__doc__ or "").split("\n")[0])
    jobs = parser.add_subparsers(dest="job", required=True, metavar="JOB")
    for name, job in JOBS.items():
        jobs.add_parser(name, help=job.__doc__, add_help=name not in LONG)
    arguments, rest = parser.parse_known_args()
    set_up()
    try:
        return JOBS[arguments.job](rest)
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
