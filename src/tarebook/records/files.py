"""The record's file: where it stands, how it is read without trusting it, and how it is written without losing one."""

import json
import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import Any

from tarebook.records.record import MOST_RULE_FILES, RECORD_FORMAT, Record, record_document, record_from
from tarebook.records.strict import RecordProblem
from tarebook.toml_source.reading import NotRegular, read_bytes

MOST_BYTES = 8 * 1024 * 1024
_FORMATS = "tarebook-record/"


class NoRecord(RecordProblem):
    """There is no record yet."""


def record_path(car: Path) -> Path:
    """The file beside a car file that keeps its record."""
    return car.with_name(f"{car.name.removesuffix('.toml')}.record.json")


def read_record(path: Path) -> Record:
    """Read a record. Raises NoRecord if there is none, RecordProblem if it is not a sound record."""
    data = _read(path)
    if isinstance(data, dict) and _other_version(data.get("format")):
        raise RecordProblem(
            f"{path} is a record of another version of this program: update it, or name another place for the file."
        )
    try:
        return record_from(data)
    except RecordProblem as problem:
        raise RecordProblem(f"{path} is not a record that can be used: {problem}") from None


def write_record(path: Path, record: Record) -> None:
    """Write a record in place of the one before: all of it or nothing.

    Raises RecordProblem if something stands there that is no record, if the record is too large, or if the folder
    cannot be written; what was there is then as it was.
    """
    if len(record.rules) > MOST_RULE_FILES:
        raise RecordProblem(f"A record keeps at most {MOST_RULE_FILES:,} rule files and bulletins: name fewer.")
    content = (json.dumps(record_document(record), indent=1, allow_nan=False) + "\n").encode()
    if len(content) > MOST_BYTES:
        raise RecordProblem(f"The record would be larger than {_mebibytes()}, the most that is read: name fewer rules.")
    _only_over_a_record(path)
    beside = path.with_name(f".{path.name}.{secrets.token_hex(8)}.part")
    try:
        _write_and_sync(beside, content)
        beside.replace(path)
    except BaseException as error:
        with suppress(OSError):
            beside.unlink()
        if isinstance(error, OSError):
            raise RecordProblem(f"{path} cannot be written: {error.strerror}. What was there is as it was.") from None
        raise


def kept_name(path: Path, folder: Path) -> str:
    """The name that a record keeps of a rule file or a folder of them: from the car's folder, never absolute."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # on another drive there is no way from here
        return f"../{path.name}"


def named_again(names: tuple[str, ...], folder: Path) -> list[Path]:
    """Where the files and folders are now that a record names as its rules.

    None of them where they are all gone from the car's folder. Raises RecordProblem for a name that leads out of
    that folder, and where some are gone.
    """
    root = folder.resolve()
    found: list[Path] = []
    gone: list[str] = []
    for name in names:
        if name.startswith("/") or any(sign in name for sign in "\\:\0") or ".." in name.split("/"):
            raise RecordProblem(
                f"The record's rules are not in the car's folder but at {name}: name them, --rules PATH."
            )
        path = folder / name
        try:
            inside = path.resolve(strict=True).is_relative_to(root)
        except (OSError, RuntimeError, ValueError):
            gone.append(name)
            continue
        if not inside:
            raise RecordProblem(f"{name} leads out of the car's folder: name the rules, --rules PATH.")
        found.append(path)
    if gone and found:
        raise RecordProblem(f"The record's rules at {', '.join(gone)} are gone: name the rules, --rules PATH.")
    return found


def _read(path: Path) -> Any:
    """The data of a JSON file, within limits."""
    try:
        content = read_bytes(path, MOST_BYTES + 1)
    except NotRegular:
        raise RecordProblem(f"{path} is no regular file, so it is no record.") from None
    except FileNotFoundError:
        raise NoRecord(f"There is no record at {path} yet: tarebook record makes one.") from None
    except (OSError, ValueError) as error:
        raise RecordProblem(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}.") from None
    if len(content) > MOST_BYTES:
        raise RecordProblem(f"{path} is larger than {_mebibytes()}, the most that is read of a record.")
    try:
        return json.loads(content.decode(), parse_constant=_no_number, object_pairs_hook=_once)
    except RecordProblem as problem:
        raise RecordProblem(f"{path} is not a record that can be used: {problem}") from None
    except UnicodeDecodeError:
        raise RecordProblem(f"{path} is not a record that can be used: it is not UTF-8.") from None
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise RecordProblem(f"{path} is not a record that can be used: it is not JSON ({place}).") from None
    except (ValueError, RecursionError):  # a number of thousands of digits; lists in lists without end
        raise RecordProblem(f"{path} is not a record that can be used: it is beyond what is read of JSON.") from None


def _no_number(constant: str) -> Any:
    raise RecordProblem(f"{constant} is no number.")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise RecordProblem(f'the key "{twice}" is given twice.')
    return table


def _other_version(stated: Any) -> bool:
    return isinstance(stated, str) and stated.startswith(_FORMATS) and stated != RECORD_FORMAT


def _only_over_a_record(path: Path) -> None:
    """Refuses to write over anything but a record of this version, whole or not."""
    if path.is_symlink():
        raise RecordProblem(f"{path} is a link, which is not written over: move it away.")
    try:
        data = _read(path)
    except NoRecord:
        return
    except RecordProblem as problem:
        raise RecordProblem(f"{problem} It is not written over: move it away.") from None
    if not isinstance(data, dict) or data.get("format") != RECORD_FORMAT:
        raise RecordProblem(f"{path} is no record of this version. It is not written over: move it away.")


def _write_and_sync(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _mebibytes() -> str:
    return f"{MOST_BYTES // 1024**2} MiB"
