"""Writing an edited file: all of it or nothing, and never over somebody else's change."""

import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from editing.support_edits import BLOCKS, MAT
from tarebook.car.editing import AddEntries, EditRefused, edited, write_edited, writing
from tarebook.car.reading import load_car

SOURCES = Path(__file__).parents[2] / "src"


@pytest.fixture
def car(tmp_path):
    path = tmp_path / "wren.toml"
    path.write_bytes(BLOCKS.encode())
    return path


def names(folder):
    return [each.name for each in folder.iterdir()]


def with_mat(path, name="mat"):
    return edited(load_car(path).source, [AddEntries("part", [MAT | {"id": name}])])


def test_the_file_is_replaced_and_nothing_else_is_left(car):
    car.chmod(0o640)
    after = with_mat(car)
    assert car.read_bytes() == BLOCKS.encode()
    write_edited(car, after)
    assert car.read_bytes() == after.after.content
    assert [part.id for part in load_car(car).file.part] == ["carpet", "console", "mat"]
    assert car.stat().st_mode & 0o7777 == 0o640
    assert names(car.parent) == ["wren.toml"]


def test_an_edit_without_a_change_writes_nothing(car):
    before = car.stat()
    write_edited(car, edited(load_car(car).source, []))
    assert car.stat().st_ino == before.st_ino


def test_a_link_is_written_through(car):
    link = car.parent / "links" / "link.toml"
    link.parent.mkdir()
    link.symlink_to("../wren.toml")
    write_edited(link, with_mat(link))
    assert link.is_symlink()
    assert [part.id for part in load_car(car).file.part] == ["carpet", "console", "mat"]
    assert names(link.parent) == ["link.toml"]


def test_a_second_writer_is_noticed(car):
    after = with_mat(car)
    write_edited(car, with_mat(car, "other"))
    changed = car.read_bytes()
    with pytest.raises(EditRefused) as refused:
        write_edited(car, after)
    assert str(refused.value) == f"{car} was changed by somebody else meanwhile, so nothing was written: try again."
    assert car.read_bytes() == changed
    assert names(car.parent) == ["wren.toml"]


def test_a_writer_at_the_last_moment_is_noticed(car, monkeypatch):
    after = with_mat(car)
    lock = writing._lock

    def meanwhile(folder):
        lock(folder)
        car.write_bytes(BLOCKS.encode() + b"# theirs\n")

    monkeypatch.setattr(writing, "_lock", meanwhile)
    with pytest.raises(EditRefused, match="changed by somebody else"):
        write_edited(car, after)
    assert car.read_bytes() == BLOCKS.encode() + b"# theirs\n"


@pytest.mark.parametrize("step", ["os.open", "os.fsync", "os.fchown", "Path.chmod", "Path.read_bytes", "Path.replace"])
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failure_at_any_step_leaves_the_file_as_it_was(car, monkeypatch, step, error):
    after = with_mat(car)
    failed = []

    def fail(*arguments, **more):
        failed.append(step)
        raise error

    where, name = step.split(".")
    monkeypatch.setattr(os if where == "os" else Path, name, fail)
    overlooked = isinstance(error, OSError) and step == "os.fchown"  # the owner may stay another
    if overlooked:
        write_edited(car, after)
    elif isinstance(error, OSError):
        with pytest.raises(EditRefused) as refused:
            write_edited(car, after)
        assert str(refused.value) == (f"{car} cannot be written: No space left on device. What was there is as it was.")
    else:
        with pytest.raises(KeyboardInterrupt):
            write_edited(car, after)
    monkeypatch.undo()
    assert failed
    assert car.read_bytes() == (after.after.content if overlooked else BLOCKS.encode())
    assert names(car.parent) == ["wren.toml"]


def test_a_file_that_stands_where_the_new_one_is_written_is_left_alone(car, monkeypatch):
    monkeypatch.setattr("secrets.token_hex", lambda size: "0" * size)
    theirs = car.parent / ".wren.toml.00000000.part"
    theirs.symlink_to("wren.toml")
    with pytest.raises(EditRefused, match="File exists"):
        write_edited(car, with_mat(car))
    assert theirs.is_symlink()
    assert car.read_bytes() == BLOCKS.encode()


def test_a_folder_that_cannot_be_kept_on_the_disk_is_no_failure(car, monkeypatch):
    after, fsync, kept = with_mat(car), os.fsync, []

    def files_only(descriptor):
        kept.append(stat.S_ISREG(os.fstat(descriptor).st_mode))
        if not kept[-1]:
            raise OSError(22, "Invalid argument")
        fsync(descriptor)

    monkeypatch.setattr(os, "fsync", files_only)
    write_edited(car, after)
    assert kept == [True, False]
    assert car.read_bytes() == after.after.content


def test_a_file_that_is_gone_or_may_not_be_written_is_refused(car):
    after = with_mat(car)
    car.unlink()
    with pytest.raises(EditRefused, match="No such file"):
        write_edited(car, after)
    assert names(car.parent) == []


ENDLESS = """\
import sys
from pathlib import Path
from tarebook.car.editing import SetKey, edited, write_edited
from tarebook.car.reading import load_car

path = Path(sys.argv[1])
number = 0
while True:
    number += 1
    write_edited(path, edited(load_car(path).source, [SetKey(("part", 0, "note"), str(number) + "x" * 3000)]))
    if number == 1:
        print("ready", flush=True)
"""


def test_a_kill_at_any_time_leaves_a_whole_file(car):
    for moment in range(8):
        writer = subprocess.Popen(
            [sys.executable, "-c", ENDLESS, str(car)],
            env={**os.environ, "PYTHONPATH": str(SOURCES)},
            stdout=subprocess.PIPE,
        )
        try:
            assert writer.stdout.readline() == b"ready\n"
            time.sleep(0.0137 * moment)
        finally:
            writer.send_signal(signal.SIGKILL)
            writer.wait()
            writer.stdout.close()
        note = load_car(car).file.part[0].note
        assert note.lstrip("0123456789") == "x" * 3000
        assert int(note.rstrip("x")) > 0


ADDER = """\
import sys
from tarebook.car.editing import AddEntries, EditRefused, edited, write_edited
from tarebook.car.reading import load_car

for number in range(15):
    name = f"{sys.argv[2]}-{number}"
    try:
        write_edited(sys.argv[1], edited(load_car(sys.argv[1]).source, [
            AddEntries("part", [{"id": name, "kind": "ballast"}])]))
        print(name)
    except EditRefused:
        pass
"""


def test_of_two_writers_none_loses_what_it_was_told_is_written(car):
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", ADDER, str(car), name],
            env={**os.environ, "PYTHONPATH": str(SOURCES)},
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in ("left", "right")
    ]
    told = {name for writer in writers for name in writer.communicate(timeout=60)[0].split()}
    assert len(told) >= 15
    assert {part.id for part in load_car(car).file.part} == {"carpet", "console"} | told
    assert names(car.parent) == ["wren.toml"]
