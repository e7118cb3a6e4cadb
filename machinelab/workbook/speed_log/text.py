"""From the bytes of somebody's file to plain text, or a clear word why it is no text.

Loggers write in many codes and with many line endings; this is the one place that knows them.
"""

from pathlib import Path

from machinelab.errors import LogError

LARGEST_BYTES = 300_000_000
_MAGIC = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"%PDF": "a PDF page",
    b"PK\x03\x04": "a spreadsheet workbook or a packed folder",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet workbook",
    b"RIFF": "a sound or film recording",
    b"\x1f\x8b": "a packed file",
}


def raw_bytes(source, name):
    """The bytes of a path, an upload or a pasted text, and a name for them.

    Parameters
    ----------
    source : str, Path or bytes
        A text has a line break in it; any other str is a path.
    name : str or None
        What to call it; the file's name if None.

    Returns
    -------
    tuple of (bytes, str)
        The raw bytes and the name.

    Raises
    ------
    LogError
        When there is no such file or it cannot be opened.
    """
    if isinstance(source, (bytes, bytearray, memoryview)):
        return bytes(source), name or "uploaded log"
    if isinstance(source, str) and ("\n" in source or "\r" in source):
        return source.encode("utf-8", errors="replace"), name or "pasted text"
    if not isinstance(source, (str, Path)):
        raise LogError("Give the path of a log, its text, or the bytes of an uploaded file.")
    if not str(source).strip():
        raise LogError("Nothing was given to read. Give the path of a log, or paste its text.")
    try:
        path = Path(source)
        return path.read_bytes(), name or path.name
    except FileNotFoundError:
        shown = str(source)[-60:]
        raise LogError(
            f"There is no file '{shown}'. Check its name, or paste the readings as text."
        ) from None
    except (OSError, ValueError) as trouble:
        words = getattr(trouble, "strerror", None) or "that is no file name"
        raise LogError(
            f"'{str(source)[-60:]}' cannot be opened: {words}. Give the path of a log file."
        ) from None


def spoken_rows(rows, most=4):
    """Row numbers as a person says them: ``row 12``, ``rows 12 to 15 and 20``.

    Parameters
    ----------
    rows : iterable of int [1]
        Line numbers in the file, in any order.
    most : int [1]
        How many stretches to name before saying how many more there are.

    Returns
    -------
    str
        The rows in words.

    Examples
    --------
    >>> spoken_rows([12, 13, 14, 15, 20])
    'rows 12 to 15 and 20'
    >>> spoken_rows([7])
    'row 7'
    """
    numbers = sorted({int(row) for row in rows})
    stretches = []
    for number in numbers:
        if stretches and number == stretches[-1][1] + 1:
            stretches[-1][1] = number
        else:
            stretches.append([number, number])
    words = [str(a) if a == b else f"{a} to {b}" for a, b in stretches[:most]]
    if len(stretches) > most:
        words.append(f"{len(stretches) - most} more places")
    listed = words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
    return ("row " if len(numbers) == 1 else "rows ") + listed


def as_utf8(raw, name):
    """Bring any usual encoding and line ending to UTF-8 with plain line feeds.

    Parameters
    ----------
    raw : bytes
        The file as it is.
    name : str
        What to call it in messages.

    Returns
    -------
    tuple of (bytes, list of str)
        The text, and notes of what was changed on the way.

    Raises
    ------
    LogError
        When it is no text at all: a picture, a sound, a workbook file, nothing.
    """
    _refuse_other_kinds(raw, name)
    notes = []
    encoding = _encoding(raw)
    if encoding != "utf-8":
        raw = raw.decode(encoding, errors="replace").encode("utf-8", errors="replace")
        if encoding in ("cp1252", "latin-1"):
            notes.append("The letters are not in the usual code (UTF-8); read as Western European.")
    raw = raw.removeprefix(b"\xef\xbb\xbf")
    if b"\x00" in raw:
        notes.append(f"Left out {raw.count(0)} empty bytes (a logger that loses its supply leaves such).")
        raw = raw.replace(b"\x00", b"")
    if b"\r" in raw:
        raw = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not raw.isascii():  # hard spaces and the typographer's minus are spaces and minus to a reader
        for odd, plain in (
            ("\u00a0", " "),
            ("\u202f", " "),
            ("\u2009", " "),
            ("\u2212", "-"),
            ("\u2019", "'"),
        ):
            raw = raw.replace(odd.encode(), plain.encode())
    return raw.rstrip(b"\n\x1a \t"), notes


def _refuse_other_kinds(raw, name):
    if not raw.strip():
        raise LogError(f"{name} is empty. Choose the file that the logger wrote, or type the readings.")
    if len(raw) > LARGEST_BYTES:
        raise LogError(f"{name} has {len(raw) / 1e6:.0f} MB. Cut out the coast (under 300 MB) and read that.")
    for magic, kind in _MAGIC.items():
        if raw.startswith(magic):
            raise LogError(
                f"{name} is {kind}, not a text of readings. Save or export the log as CSV "
                "(text with one reading a line) and read that file."
            )
    if raw.lstrip()[:1] in (b"<", b"{"):
        raise LogError(
            f"{name} is a web page or program data, not a table. Export the log as CSV and read that."
        )
    head = raw[:4096].replace(b"\x00", b"")
    odd = sum(byte < 32 and byte not in b"\t\n\r\x0c\x1a" for byte in head)
    if odd > 0.02 * len(head):
        raise LogError(
            f"{name} is not a text file. Export the log as CSV (one reading a line) and read that."
        )


def _encoding(raw):
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16"
    head = raw[:1000]
    if head[1::2].count(0) > 0.4 * len(head) / 2:
        return "utf-16-le"
    if head[0::2].count(0) > 0.4 * len(head) / 2:
        return "utf-16-be"
    if raw.isascii():
        return "utf-8"
    for encoding in ("utf-8", "cp1252"):
        try:
            raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        return encoding
    return "latin-1"
