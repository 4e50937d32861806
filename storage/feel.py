"""The trials of one person, kept outside the book in the user's data folder: nobody else's, and gone in one step.

A person who does not want it has no file. The names of book and person do not stand in the file's name.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import msgspec
from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.studies.feel import Trial, is_sound
from storage.book.failures import telling
from storage.files import ASIDE, set_aside, write_file
from storage.own_files import folder_of, mark_of

ENDING = ".feel.json"
#: The form of the file that this program writes and reads.
FORM = 1
#: A trial a day for years; a file of more is no aid to anybody.
MOST_TRIALS = 2_000


class KeptFeel(Struct, frozen=True):
    """The trials of one person, the newest last. ``wanted`` is whether the person ever asked for them to be kept;
    ``said`` what is to be said of a file that could not be read."""

    trials: tuple[Trial, ...] = ()
    wanted: bool = False
    said: tuple[Reason, ...] = ()


class _File(Struct, frozen=True):
    form: int
    trials: tuple[Trial, ...] = ()


def feel_place(book: Path, person: str) -> Path:
    """The file of a person (their identity) who works at a book, wherever that lies."""
    return folder_of("feel", book) / f"{mark_of(person)}{ENDING}"


def kept_feel(book: Path, person: str) -> KeptFeel:
    """What is kept for a person. A file that cannot be read is told of and left as it is."""
    path = feel_place(book, person)
    try:
        file = msgspec.json.decode(path.read_bytes(), type=_File)
    except FileNotFoundError:
        return KeptFeel()
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        file = _File(0)
    if file.form != FORM or not all(map(is_sound, file.trials)):
        told = Reason("feel.damaged", {"file": path.name, "folder": str(path.parent)})
        return KeptFeel(wanted=True, said=(told,))
    return KeptFeel(file.trials, wanted=True)


def want_feel(book: Path, person: str) -> None:
    """The person asks for trials to be kept from now on. Raises BookFailure."""
    if not kept_feel(book, person).wanted:
        _write(book, person, ())


def keep_trial(book: Path, person: str, trial: Trial) -> None:
    """Keep a trial as it stands, in place of what was kept of it; one without readings is dropped.

    A file that cannot be read is set aside under another name first. Raises Refused where no more can be kept,
    BookFailure for what folder or disk would not do; what was kept before is untouched then.
    """
    kept = kept_feel(book, person)
    trials = {one.identity: one for one in kept.trials} | {trial.identity: trial}
    if len(trials) > MOST_TRIALS:
        raise Refused(Reason("feel.refused.full", {"most": MOST_TRIALS}))
    if not trial.takes:
        del trials[trial.identity]
    if kept.said:
        path = feel_place(book, person)
        with telling(path, "file"), suppress(FileNotFoundError):
            set_aside(path)
    _write(book, person, tuple(trials.values()))


def forget_feel(book: Path, person: str) -> bool:
    """Delete everything that is kept for a person, and what was set aside of it; whether there was anything.

    Raises BookFailure for what folder or disk would not do.
    """
    path = feel_place(book, person)
    found = [path] if path.exists() else []
    found += path.parent.glob(f"{path.stem}{ASIDE}*{path.suffix}")
    for each in found:
        with telling(each, "file"), suppress(FileNotFoundError):
            each.unlink()
    return bool(found)


def _write(book: Path, person: str, trials: tuple[Trial, ...]) -> None:
    path = feel_place(book, person)
    with telling(path, "file"):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)  # for the eyes of this computer's user alone
    write_file(path, msgspec.json.encode(_File(FORM, trials)))
