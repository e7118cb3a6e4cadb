"""Handing a machine over: its folder as one zip, and a zip from someone else opened with care.

What another person sent is not trusted: names that climb out of the folder, links, bombs and kinds of file
that have no business in a machine's folder are refused, and nothing is left behind.
"""

import os
import shutil
import stat
import sys
import tempfile
import unicodedata
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePath, PurePosixPath

from machinelab.errors import MachineFileError, MachinelabError
from machinelab.units.typed_number import in_short
from machinelab.workbook import machine as machines
from machinelab.workbook.machine.file import FILE_NAME
from machinelab.workbook.machine.folders import DEVICES, checked_name, machines_folder
from machinelab.workbook.record.store import LOCK_NAME

KINDS = (".toml", ".jsonl", ".csv", ".txt", ".tsv", ".log", ".md", ".wav", ".png", ".jpg", ".jpeg")
PICTURES = (".png", ".jpg", ".jpeg")
MOST_FILES = 2_000
MOST_BYTES = 500_000_000
MOST_SWELLING = 200
SMALL_BYTES = 1_000_000
DEEPEST = 4
CHUNK = 1 << 20
# A zip holds a date for each file; the same one for all tells nothing about anybody.
NO_DATE = (1980, 1, 1, 0, 0, 0)
# What Windows takes in no name; a colon would also begin a drive or a hidden stream.
NOT_IN_NAMES = set('<>:"|?*\\')


@dataclass(frozen=True)
class Packed:
    """The zip that was written, and what did not go into it."""

    file: Path
    files: int
    left_out: tuple[str, ...]

    def __str__(self) -> str:
        said = f"{self.files} files are in {self.file.name}."
        return f"{said} Left out: {', '.join(self.left_out)}." if self.left_out else said


def pack(machine: str | Path | None = None, target: Path | None = None) -> Packed:
    """Write a machine's folder into one zip; pictures lose what a camera wrote into them.

    Parameters
    ----------
    machine : str, Path or None
        Name or folder; left out, the chosen one.
    target : Path or None
        The zip to write; left out, beside the machines, named after this one.

    Raises
    ------
    MachineFileError
        When there is no such machine, or the zip cannot be written.
    """
    folder = machines.load(machine).folder
    target = target or machines_folder() / f"{folder.name}.zip"
    kept, left_out = {}, []
    for file in _files_below(folder):
        name = file.relative_to(folder)
        # Of two names that are one to some systems only the first goes along: a zip with both opens nowhere.
        if _goes_along(folder, file) and _alike(name) not in kept:
            kept[_alike(name)] = name.as_posix()
        else:
            left_out.append(name.as_posix())
    try:
        _write_zip(folder, list(kept.values()), target)
    except OSError as trouble:
        raise MachineFileError(
            f"{target.name} cannot be written: {trouble.strerror}. Make room, or choose another folder."
        ) from None
    return Packed(target, len(kept), tuple(left_out))


def unpack(file: Path, name: str | None = None) -> Path:
    """Open a zip from someone else as a machine of its own.

    Parameters
    ----------
    file : Path
        The zip.
    name : str or None
        What to call the machine here; left out, as its folder is called in the zip.

    Raises
    ------
    MachineFileError
        When the zip is none, holds no machine, or holds anything that could do harm; then nothing is kept.
    """
    try:
        with zipfile.ZipFile(file) as whole:
            entries = list(_checked(whole))
            called = checked_name(name or _folder_in(entries))
            target = machines_folder() / called
            if target.exists():
                raise MachineFileError(
                    f"There is a machine {called} already. Give the one in the zip another name."
                )
            return _unpacked(whole, entries, target)
    except (
        zipfile.BadZipFile,
        zipfile.LargeZipFile,
        zlib.error,
        # Also what the zip reader raises for a password or a packing that it does not know.
        RuntimeError,
        # A name that is no UTF-8 though it says so, or a place that no file can have.
        ValueError,
        EOFError,
        OSError,
    ) as bad:
        raise MachineFileError(
            f"{in_short(Path(file).name)} cannot be opened as a zip of a machine: {in_short(str(bad))}."
        ) from None


def _write_zip(folder: Path, names: list[str], target: Path) -> None:
    """Write a zip whole or not at all."""
    descriptor, scratch = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".new")
    os.close(descriptor)
    try:
        with zipfile.ZipFile(scratch, "w", zipfile.ZIP_DEFLATED) as whole:
            for name in names:
                entry = zipfile.ZipInfo(f"{folder.name}/{name}", NO_DATE)
                entry.compress_type = zipfile.ZIP_DEFLATED
                whole.writestr(entry, _without_traces(folder / name))
        Path(scratch).replace(target)
    finally:
        Path(scratch).unlink(missing_ok=True)


def _files_below(folder: Path) -> list[Path]:
    """Every file but the record's lock; small letters first, as the workbook itself writes its names."""
    files = (path for path in folder.rglob("*") if not path.is_dir() and path.name != LOCK_NAME)
    return sorted(files, key=lambda path: path.as_posix().swapcase())


def _goes_along(folder: Path, file: Path) -> bool:
    name = file.relative_to(folder)
    return (
        all(map(_usual, name.parts))
        and not file.is_symlink()
        and file.suffix.lower() in KINDS
        and len(name.parts) < DEEPEST
    )


def _without_traces(file: Path) -> bytes:
    """The content of a file; a picture is written anew, so that place, camera and date stay at home."""
    if file.suffix.lower() not in PICTURES:
        return file.read_bytes()
    import io

    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(file) as picture:
            upright = ImageOps.exif_transpose(picture)
            bare = Image.new(upright.mode, upright.size)
            bare.paste(upright)
            if upright.mode == "P":
                bare.putpalette(upright.getpalette())
            stream = io.BytesIO()
            bare.save(stream, "PNG" if file.suffix.lower() == ".png" else "JPEG")
    except (UnidentifiedImageError, OSError, ValueError) as trouble:
        raise MachineFileError(
            f"{file.name} is no picture that can be cleared of what the camera wrote into it ({trouble}). "
            "Save it anew as JPG or PNG, or take it out of the folder."
        ) from None
    return stream.getvalue()


def _checked(whole: zipfile.ZipFile) -> Iterator[tuple[zipfile.ZipInfo, PurePosixPath]]:
    """Every file of a zip with its place below the machine's folder; anything odd ends it."""
    # A name may be empty, and the zip reader's own question for a folder takes that amiss.
    infos = [info for info in whole.infolist() if not info.filename.endswith("/")]
    if len(infos) > MOST_FILES:
        raise MachineFileError(f"The zip has {len(infos)} files; a machine has {MOST_FILES} at most.")
    if sum(info.file_size for info in infos) > MOST_BYTES:
        raise MachineFileError(
            f"The zip would fill more than {MOST_BYTES // 1_000_000} MB; that is no machine."
        )
    seen: set[str] = set()
    for info in infos:
        path = _place_of(info)
        if _alike(path) in seen:
            raise MachineFileError(
                f"The zip holds {in_short(info.filename)} twice, which is not to be trusted."
            )
        seen.add(_alike(path))
        yield info, path


def _place_of(info: zipfile.ZipInfo) -> PurePosixPath:
    name = info.filename
    path = PurePosixPath(name)
    climbs = path.is_absolute() or any(part in ("", ".", "..") for part in name.split("/"))
    if climbs or any(map(_odd, name)) or not 2 <= len(path.parts) <= DEEPEST:
        raise MachineFileError(
            f"The zip holds {in_short(name)}, a name that does not belong into a machine's folder. It was "
            "not opened."
        )
    if not all(map(_usual, path.parts)):
        raise MachineFileError(
            f"The zip holds {in_short(name)}, a hidden or reserved name. It was not opened."
        )
    if stat.S_ISLNK(info.external_attr >> 16):
        raise MachineFileError(f"The zip holds {in_short(name)}, which is a link. It was not opened.")
    if info.flag_bits & 1:
        raise MachineFileError("The zip asks for a password. Ask for one without.")
    if path.suffix.lower() not in KINDS:
        raise MachineFileError(
            f"The zip holds {in_short(name)}, a kind of file that no machine has. It was not opened."
        )
    if info.file_size > SMALL_BYTES and info.file_size > MOST_SWELLING * max(info.compress_size, 1):
        raise MachineFileError(
            f"The zip holds {in_short(name)}, which swells beyond reason. It was not opened."
        )
    return path


def _odd(letter: str) -> bool:
    """Whether a letter has no business in a file's name: one that steers, is not seen, or means a place."""
    return letter in NOT_IN_NAMES or unicodedata.category(letter)[0] == "C"


def _usual(part: str) -> bool:
    """Whether every system takes a name as it stands, and takes it for a file that is seen."""
    device = part.split(".")[0].rstrip().lower() in DEVICES
    return not (device or part.startswith(".") or part.endswith((".", " ")) or any(map(_odd, part)))


def _alike(path: PurePath) -> str:
    """The same text for all names that some system takes for one file."""
    return unicodedata.normalize("NFC", path.as_posix().casefold())


def _folder_in(entries) -> str:
    folders = {path.parts[0] for _, path in entries}
    if len(folders) != 1 or not any(path.parts[1:] == (FILE_NAME,) for _, path in entries):
        raise MachineFileError(f"The zip holds no single machine: one folder with a {FILE_NAME} in it.")
    return folders.pop()


def _unpacked(whole: zipfile.ZipFile, entries, target: Path) -> Path:
    """Write everything into a scratch folder first; only a whole machine takes its place."""
    _folder_in(entries)
    scratch = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}."))
    try:
        left = MOST_BYTES
        for info, path in entries:
            left = _written(whole, info, scratch.joinpath(*path.parts[1:]), left)
        scratch.chmod(0o755)
        scratch.rename(target)
    except BaseException:
        shutil.rmtree(scratch, ignore_errors=True)
        raise
    return target


def _written(whole: zipfile.ZipFile, info: zipfile.ZipInfo, file: Path, left: int) -> int:
    """Write one file and say how many bytes may still follow; what a zip says of its sizes may be a lie."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with whole.open(info) as source, file.open("xb") as sink:
        while chunk := source.read(CHUNK):
            left -= len(chunk)
            if left < 0:
                raise MachineFileError("The zip holds more than it says. It was not opened.")
            sink.write(chunk)
    return left


def main(arguments: list[str] | None = None) -> int:
    """Pack or unpack from the command line: ``pack [machine]`` or ``unpack file.zip [name]``."""
    words = sys.argv[1:] if arguments is None else arguments
    try:
        if words[:1] == ["pack"] and len(words) <= 2:
            packed = pack(words[1] if len(words) == 2 else None)
            print(f"{packed} It lies at {packed.file}.")
        elif words[:1] == ["unpack"] and 2 <= len(words) <= 3:
            folder = unpack(Path(words[1]), words[2] if len(words) == 3 else None)
            print(f"{folder.name} is there now. Choose it on the start page.")
        else:
            print("Say: pack [machine], or unpack file.zip [name].", file=sys.stderr)
            return 2
    except MachinelabError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
