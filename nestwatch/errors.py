"""Every error that nestwatch raises on purpose, drawn as a tree.

    NestwatchError            exit 1   something could not be done
    ├── SiteError             exit 2   the site file (or what it names) must be changed
    ├── FootageError          exit 1   no usable recording where one was needed
    │   └── StampError        exit 2   the start of a recording cannot be told
    ├── OutputError           exit 1   results cannot be written
    ├── PageError             exit 1   a local page was sent what it does not take
    ├── RecordError           exit 1   the season's record cannot be opened, read or written
    ├── FitError              exit 1   the likelihood cannot be fitted to the finds that there are
    ├── NotifyError           exit 4   the night is done, but the message about it could not be sent
    ├── EntryError            exit 2   what was entered into the record does not fit
    │   ├── DoubtfulEntry     exit 2   unlikely, but taken when the keeper says that it is so
    │   └── ChangedMeanwhile  exit 1   somebody else changed the same entry since it was shown
    └── ScenarioError         exit 2   a scenario of an invented night must be changed

A message is one line: what is wrong, where, and what to do next. Only `nestwatch.commands` turns
these into an exit code; everything below raises and lets pass.
"""


class NestwatchError(Exception):
    """Base of all errors meant for the keeper. `exit_code` is what the command returns."""

    exit_code = 1


class SiteError(NestwatchError):
    """The site file, or something it names, is wrong in a way the keeper can mend there."""

    exit_code = 2


class FootageError(NestwatchError):
    """A camera has no recording that could be used for this night."""


class StampError(FootageError):
    """When a recording started cannot be told from its name or its container."""

    exit_code = 2


class OutputError(NestwatchError):
    """The results cannot be written where they were asked for."""


class PageError(NestwatchError):
    """A request to a local page has not the form that the page itself sends."""


class RecordError(NestwatchError):
    """The season's record is locked, read-only, damaged, newer than the program, or out of reach."""


class FitError(NestwatchError):
    """The finds are too few, or say the contrary of the likelihood: nothing was fitted."""


class NotifyError(NestwatchError):
    """The message about a night could not be sent; the night's results are kept."""

    exit_code = 4


class EntryError(NestwatchError):
    """What was entered into the record contradicts itself, the record, or what can be."""

    exit_code = 2


class DoubtfulEntry(EntryError):
    """An entry that is very unlikely; it is taken when it is repeated as sure."""


class ChangedMeanwhile(EntryError):
    """The entry is not any more as it was when the keeper saw it; nothing was written."""

    exit_code = 1


class ScenarioError(NestwatchError):
    """A scenario file (or an override of it) for an invented night is wrong."""

    exit_code = 2
