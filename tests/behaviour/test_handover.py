"""Handing a machine over: what goes along, what stays at home, and zips that are not to be trusted."""

import io
import shutil
import stat
import struct
import zipfile
from pathlib import Path

import pytest
from PIL import Image

from machinelab.errors import MachineFileError
from machinelab.workbook import machine as machines
from machinelab.workbook import speed_log
from machinelab.workbook.handover import MOST_FILES, main, pack, unpack
from machinelab.workbook.pages.coast_down import CoastDownPage
from machinelab.workbook.record import Record
from machinelab.workbook.record.store import LOCK_NAME

HOUSE = Path(__file__).resolve().parents[2]
DEMO = HOUSE / "notebooks" / "machines" / "demo"
MACHINE = (DEMO / "machine.toml").read_text(encoding="utf-8")


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A folder with machines of its own, the demo among them."""
    shutil.copytree(DEMO, tmp_path / "here" / "machines" / "demo")
    shutil.copytree(DEMO, tmp_path / "here" / "machines" / "old-lathe")
    shutil.copytree(DEMO, tmp_path / "there" / "machines" / "demo")
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.delenv("MACHINELAB_MACHINE", raising=False)
    return tmp_path


def zipped(folder, entries, name="sent.zip"):
    file = folder / name
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as whole:
        for entry, content in entries:
            whole.writestr(entry, content)
    return file


def jpeg_with_a_place():
    stream = io.BytesIO()
    exif = Image.Exif()
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)
    exif[0x010F] = "a camera"
    Image.new("RGB", (40, 30), "grey").save(stream, "JPEG", exif=exif)
    return stream.getvalue()


def test_a_stranger_repeats_the_coast_down_from_the_zip(kept, monkeypatch):
    packed = pack("old-lathe")
    here = CoastDownPage(machines.load("old-lathe"))
    monkeypatch.chdir(kept / "there")
    folder = unpack(packed.file, "from-a-friend")
    there = CoastDownPage(machines.load("from-a-friend"))
    assert folder.parent == kept / "there" / "machines"
    assert there.found.stop_time_s(1000).value == here.found.stop_time_s(1000).value
    assert len(speed_log.read(folder / "logs" / "free_run_down.csv").time_s) > 50


def test_a_photo_goes_along_without_its_place_and_camera(kept):
    photos = kept / "here" / "machines" / "old-lathe" / "photos"
    photos.mkdir()
    (photos / "nose.jpg").write_bytes(jpeg_with_a_place())
    assert b"a camera" in (photos / "nose.jpg").read_bytes()
    with zipfile.ZipFile(pack("old-lathe").file) as whole:
        sent = whole.read("old-lathe/photos/nose.jpg")
        assert {info.date_time for info in whole.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert b"a camera" not in sent
    assert not Image.open(io.BytesIO(sent)).getexif()


def test_hidden_files_and_strange_kinds_stay_at_home_and_are_named(kept):
    folder = kept / "here" / "machines" / "old-lathe"
    (folder / ".secret.toml").write_text("x = 1")
    (folder / "programme.exe").write_bytes(b"MZ")
    (folder / "link.csv").symlink_to("/etc/hostname")
    (folder / "run?.csv").write_text("0 1", encoding="utf-8")
    packed = pack("old-lathe")
    assert packed.left_out == (".secret.toml", "link.csv", "programme.exe", "run?.csv")
    assert "Left out" in str(packed)


def test_a_picture_that_is_none_is_told_and_no_zip_is_left(kept):
    photos = kept / "here" / "machines" / "old-lathe" / "photos"
    photos.mkdir()
    (photos / "nose.jpg").write_bytes(b"no picture")
    with pytest.raises(MachineFileError, match="no picture"):
        pack("old-lathe")
    assert not list((kept / "here" / "machines").glob("*.zip"))
    assert not list((kept / "here" / "machines").glob(".*new"))


def test_of_two_names_that_are_one_to_some_systems_the_workbooks_own_goes_along(kept):
    folder = kept / "here" / "machines" / "old-lathe"
    (folder / "MACHINE.TOML").write_text("x = 1", encoding="utf-8")
    if len([file for file in folder.iterdir() if file.name.lower() == "machine.toml"]) == 1:
        pytest.skip("this disk takes both for one file")
    (folder / "maß.csv").write_text("0 1", encoding="utf-8")
    (folder / "MASS.csv").write_text("0 1", encoding="utf-8")
    packed = pack("old-lathe")
    assert packed.left_out == ("MACHINE.TOML", "MASS.csv")
    assert unpack(packed.file, "back").joinpath("machine.toml").read_bytes() == MACHINE.encode()


def test_the_records_lock_is_no_part_of_a_machine(kept):
    folder = kept / "here" / "machines" / "old-lathe"
    Record(folder).add("05", "stop time", value=5.0, uncertainty=0.1, unit="s")
    assert (folder / LOCK_NAME).exists()
    assert pack("old-lathe").left_out == ()


def link_entry():
    entry = zipfile.ZipInfo("lathe/notes.txt")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    return entry


@pytest.mark.parametrize(
    ("entries", "words"),
    [
        ([("lathe/machine.toml", MACHINE), ("../climb.toml", "")], "does not belong"),
        ([("lathe/machine.toml", MACHINE), ("lathe/../../climb.toml", "")], "does not belong"),
        ([("lathe/machine.toml", MACHINE), ("/etc/passwd.txt", "")], "does not belong"),
        ([("lathe/machine.toml", MACHINE), ("C:/lathe/x.txt", "")], "does not belong"),
        ([("lathe/machine.toml", MACHINE), ("lathe\\..\\x.txt", "")], "does not belong"),
        ([("lathe/machine.toml", MACHINE), ("lathe/a/b/c/d.txt", "")], "does not belong"),
        ([("lathe/machine.toml", MACHINE), ("lathe/.hidden.txt", "")], "hidden"),
        ([("lathe/machine.toml", MACHINE), ("lathe/con.txt", "")], "reserved"),
        *(
            ([("lathe/machine.toml", MACHINE), (f"lathe/{name}", "")], "reserved")
            for name in ("CON .csv", "COM¹.csv", "conout$.txt", "logs./a.csv", "logs /a.csv")
        ),
        *(
            ([("lathe/machine.toml", MACHINE), (f"lathe/{name}", "")], "does not belong")
            for name in ("a?.csv", "a|b.csv", "<b>.csv", "a\u202evsc.csv", "./a.csv", "/a.csv")
        ),
        ([("lathe/machine.toml", MACHINE), ("lathe/run.py", "print()")], "no machine has"),
        ([("lathe/machine.toml", MACHINE), (link_entry(), "/etc/passwd")], "a link"),
        ([("lathe/machine.toml", MACHINE), ("lathe/zeros.csv", "0" * 40_000_000)], "swells"),
        ([("lathe/machine.toml", MACHINE), ("lathe/MACHINE.toml", MACHINE)], "twice"),
        ([("lathe/machine.toml", MACHINE), ("lathe/é.csv", ""), ("lathe/e\u0301.csv", "")], "twice"),
        ([("lathe/machine.toml", MACHINE), ("lathe/maß.csv", ""), ("lathe/MASS.csv", "")], "twice"),
        ([("lathe/readings.toml", "")], "no single machine"),
        ([("one/machine.toml", MACHINE), ("two/machine.toml", MACHINE)], "no single machine"),
        ([], "no single machine"),
        ([("Lathe Of Mine/machine.toml", MACHINE)], "will not do"),
        ([("demo/machine.toml", MACHINE)], "already"),
    ],
)
def test_a_zip_that_could_do_harm_is_refused_and_nothing_is_left(kept, entries, words):
    file = zipped(kept, entries)
    before = sorted(kept.rglob("*"))
    with pytest.raises(MachineFileError, match=words):
        unpack(file)
    assert sorted(kept.rglob("*")) == before


def test_too_many_files_are_refused(kept):
    file = zipped(kept, [(f"lathe/{n}.csv", "") for n in range(MOST_FILES + 1)])
    with pytest.raises(MachineFileError, match="2000 at most"):
        unpack(file)


def test_a_zip_that_lies_about_a_size_is_refused(kept):
    file = zipped(kept, [("lathe/machine.toml", MACHINE), ("lathe/a.csv", "1 2\n" * 1000)])
    content = bytearray(file.read_bytes())
    # In the list at the end of the zip the size of the last file is set to 4 bytes.
    place = content.rindex(b"PK\x01\x02")
    content[place + 24 : place + 28] = struct.pack("<I", 4)
    file.write_bytes(content)
    with pytest.raises(MachineFileError, match="cannot be opened"):
        unpack(file)
    assert not (kept / "here" / "machines" / "lathe").exists()


@pytest.mark.parametrize(("place", "value"), [(10, 0xFF), (10, 0x06), (0, 0xFF)])
def test_a_zip_that_was_damaged_on_its_way_is_told_and_nothing_is_left(kept, place, value):
    file = zipped(kept, [("lathe/machine.toml", MACHINE), ("lathe/a.csv", "1 2\n" * 1000)])
    content = bytearray(file.read_bytes())
    begins = content.index(b"lathe/machine.toml") + len("lathe/machine.toml")
    content[begins + place : begins + place + 8] = bytes([value] * 8)
    file.write_bytes(content)
    with pytest.raises(MachineFileError, match="cannot be opened"):
        unpack(file)
    assert not list((kept / "here" / "machines").glob("*lathe.*"))
    assert not (kept / "here" / "machines" / "lathe").exists()


# Each name stands in a zip twice: beside its content, and in the list at the end.
@pytest.mark.parametrize("places", [1, 2])
def test_a_zip_whose_names_cannot_be_read_is_refused_in_words(kept, places):
    file = zipped(kept, [("lathe/machine.toml", MACHINE), ("lathe/é.csv", "1 2")])
    file.write_bytes(file.read_bytes().replace("é".encode(), b"\xff\xfe", places))
    with pytest.raises(MachineFileError, match="cannot be opened"):
        unpack(file)
    assert not (kept / "here" / "machines" / "lathe").exists()


def test_a_zip_with_a_file_that_has_no_name_is_refused_in_words(kept):
    nameless = zipfile.ZipInfo("none")
    nameless.filename = ""
    file = zipped(kept, [("lathe/machine.toml", MACHINE), (nameless, "1 2")])
    with pytest.raises(MachineFileError, match="does not belong"):
        unpack(file)
    assert not (kept / "here" / "machines" / "lathe").exists()


def test_a_zip_that_places_a_file_beyond_every_disk_is_refused_in_words(kept):
    far = zipfile.ZipInfo("lathe/a.csv")
    file = zipped(kept, [("lathe/machine.toml", MACHINE), (far, "1 2")])
    content = bytearray(file.read_bytes())
    # The list at the end says that the place stands in the wide field behind the name.
    entry = content.rindex(b"PK\x01\x02")
    name_ends = entry + 46 + len("lathe/a.csv")
    wide = struct.pack("<HHQ", 1, 8, 2**64 - 1)
    content[entry + 30 : entry + 32] = struct.pack("<H", len(wide))
    content[entry + 42 : entry + 46] = b"\xff" * 4
    content[name_ends:name_ends] = wide
    end = content.rindex(b"PK\x05\x06")
    (size,) = struct.unpack("<I", content[end + 12 : end + 16])
    content[end + 12 : end + 16] = struct.pack("<I", size + len(wide))
    file.write_bytes(content)
    with pytest.raises(MachineFileError, match="cannot be opened"):
        unpack(file)
    assert not (kept / "here" / "machines" / "lathe").exists()


@pytest.mark.parametrize("content", [b"", b"PK", b"no zip at all", b"PK\x05\x06" + bytes(18)])
def test_what_is_no_zip_is_told_so(kept, content):
    file = kept / "sent.zip"
    file.write_bytes(content)
    with pytest.raises(MachineFileError):
        unpack(file)


def test_the_command_tells_what_it_did_and_what_it_could_not(kept, capsys):
    assert main(["pack", "old-lathe"]) == 0
    assert "old-lathe.zip" in capsys.readouterr().out
    assert main(["unpack", str(kept / "here" / "machines" / "old-lathe.zip")]) == 1
    assert "already" in capsys.readouterr().err
    assert main(["unpack", str(kept / "here" / "machines" / "old-lathe.zip"), "second"]) == 0
    assert main(["sing"]) == 2
