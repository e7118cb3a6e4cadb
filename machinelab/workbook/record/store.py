"""The record's file: lines are added one by one, never changed, and one hand at a time holds the pen."""

import errno
import hashlib
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from machinelab.errors import RecordError
from machinelab.workbook.whole_file import write_whole

FILE_NAME, LOCK_NAME, RESCUED_NAME = "record.jsonl", ".record.lock", "record.rescued"
WAIT_S, PAUSE_S = 20.0, 0.01


def scratch_folder(folder: Path) -> Path:
    """Where the record of a folder goes that must not be written to: outside of it, among temporary files."""
    room = Path(tempfile.gettempdir()) / "machinelab"
    mine = hashlib.sha256(f"{Path.home()}\n{folder.resolve()}".encode(errors="replace")).hexdigest()[:12]
    try:
        room.mkdir(exist_ok=True)
        if not any(room.iterdir()) and os.name == "posix":
            room.chmod(0o1777)  # several people may share one computer's temporary folder
        (room / mine).mkdir(exist_ok=True)
    except OSError as trouble:
        raise RecordError(
            f"There is no room for a scratch record among the temporary files ({trouble.strerror}). "
            "Make your own machine on the start page; its record is kept in its own folder."
        ) from None
    return room / mine


def can_write(folder: Path) -> bool:
    """Whether a file can be made in a folder, found by making one."""
    probe = folder / f".probe-{os.getpid()}-{time.monotonic_ns()}"
    try:
        os.close(os.open(probe, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        probe.unlink()
    except OSError:
        return False
    return True


def whole_lines(content: bytes) -> tuple[list[bytes], bytes]:
    """The lines that end in a line feed, and what is left behind the last of them."""
    *lines, tail = content.removeprefix(b"\xef\xbb\xbf").split(b"\n")
    return [line.rstrip(b"\r") for line in lines], tail


def read(folder: Path) -> bytes:
    """The bytes of the record; none when it has not begun."""
    try:
        return (folder / FILE_NAME).read_bytes()
    except FileNotFoundError:
        return b""
    except OSError as trouble:
        raise RecordError(f"{FILE_NAME} cannot be read: {trouble.strerror}.") from None


def append(
    folder: Path, make_line: Callable[[bytes], bytes], is_whole: Callable[[bytes], bool]
) -> tuple[bytes, str]:
    """Add one line in one write, while no other process does.

    Parameters
    ----------
    folder : Path
        Folder of the record.
    make_line : callable
        Is given the file's bytes and returns the new line, without line feed.
    is_whole : callable
        Tells of a last line without a line feed whether it is whole all the same.

    Returns
    -------
    tuple of (bytes, str)
        The line as stored, and what was said when a torn line had to be moved out of the way first.

    Raises
    ------
    RecordError
        When another process holds the record too long, or the disk will not take the line: nothing is stored.
    """
    file = folder / FILE_NAME
    with holding(folder):
        said = _move_torn_line(folder, is_whole)
        before = read(folder)
        line = make_line(before)
        # An editor may have taken the last line feed away; the line itself is whole.
        added = (b"" if not before or before.endswith(b"\n") else b"\n") + line + b"\n"
        try:
            if not file.exists():
                write_whole(file, "", check=len)
            with file.open("ab", buffering=0) as stream:
                written = stream.write(added)
                os.fsync(stream.fileno())
            if written != len(added):
                raise OSError(errno.ENOSPC, "the disk is full")
        except OSError as trouble:
            if file.exists():
                os.truncate(file, len(before))
            raise RecordError(
                f"The line was not stored: {trouble.strerror}. Make room and try again."
            ) from None
    return line, said


def rescue(folder: Path, is_whole: Callable[[bytes], bool]) -> str:
    """Move a last line that was cut short to ``record.rescued``; say so, or return an empty text."""
    with holding(folder):
        return _move_torn_line(folder, is_whole)


def _move_torn_line(folder: Path, is_whole: Callable[[bytes], bool]) -> str:
    content = read(folder)
    _, tail = whole_lines(content)
    if not tail.strip() or is_whole(tail):
        return ""
    try:
        with (folder / RESCUED_NAME).open("ab") as stream:
            stream.write(tail + b"\n")
            stream.flush()
            os.fsync(stream.fileno())
        os.truncate(folder / FILE_NAME, len(content) - len(tail))
    except OSError as trouble:
        raise RecordError(f"The last line of {FILE_NAME} is cut short: {trouble.strerror}.") from None
    return (
        f"The last line of {FILE_NAME} was cut short (a power cut, or a full disk) and now lies in "
        f"{RESCUED_NAME}. All lines before it are whole. Enter that measurement again."
    )


@contextmanager
def holding(folder: Path) -> Iterator[None]:
    """Hold the record's lock, and wait for another process that has it.

    The operating system keeps the lock and takes it back from a process that ends, however it ends. Its file
    stays: whoever removed it could remove the one that the next has just taken.
    """
    lock = FileLock(folder / LOCK_NAME)
    try:
        lock.acquire(timeout=WAIT_S, poll_interval=PAUSE_S)
    except Timeout:
        raise RecordError(
            "Another notebook holds the record. Wait until it has stored its line and try again; if it does "
            "not let go, restart its kernel."
        ) from None
    except (OSError, NotImplementedError) as trouble:
        why = getattr(trouble, "strerror", None) or "this kind of drive knows no locks"
        raise RecordError(
            f"The record's folder cannot be written to: {why}. Keep the machine's folder on a disk of this "
            "computer where you may write."
        ) from None
    try:
        yield
    finally:
        lock.release()
