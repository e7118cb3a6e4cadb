"""What does not belong in a post: folders of somebody's computer, names in them, addresses for letters."""

import contextlib
import getpass
import re
from functools import cache
from pathlib import Path

_NAME = r"[^\\/:*?\"<>|\r\n]"
_WORD = r"[^\\/\s\"'<>|,;:)(\[\]]"
# Somebody's own folder is named after them: the name goes even where it stands last, blanks in it too.
_OWN_FOLDER = re.compile(
    rf"(?:\b[a-z]:[\\/](?:users|documents and settings)|(?<![\w:/])/(?:export/home|home|users))"
    rf"(?:[\\/]{_NAME}{{1,40}}(?=[\\/])|[\\/]{_WORD}+)(?P<more>[\\/](?:{_WORD}+[\\/])*)?",
    re.IGNORECASE,
)
# Of any other path the folders go and the last name, the file's own, is kept.
_FOLDERS = re.compile(
    rf"\b[a-z]:\\(?:{_NAME}{{1,80}}\\)*|\\\\(?=\w)(?:{_NAME}{{1,80}}\\)+"
    rf"|(?<![\w:/])(?:[a-z]:|~\w*)/(?:{_WORD}+/)*|(?<![\w:/.)\]])/(?:{_WORD}+/)+",
    re.IGNORECASE,
)
_LETTER_ADDRESS = re.compile(r"[\w.+-]{1,64}@[\w-]+(?:\.[\w-]+)+")
# Names of accounts that tell nothing and may be words of the trade.
_NOBODY = {"root", "user", "users", "home", "admin", "guest", "owner", "shop", "lathe", "jovyan", "workshop"}
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")


def without_private(text: str) -> str:
    r"""Leave out what would tell where and whose the computer is; a file's own name stays.

    Parameters
    ----------
    text : str
        Whatever a person typed or a log was called.

    Returns
    -------
    str
        The same without folders, account names, addresses and unseen letters.

    Examples
    --------
    >>> without_private(r"from C:\Users\Eva Beispiel\logs\run 7.csv, see /home/eva/lathe/panel.toml")
    'from run 7.csv, see panel.toml'
    >>> without_private("n/60 rev/s at 1400 1/min, 5/1/2024, https://example.org/a/b")
    'n/60 rev/s at 1400 1/min, 5/1/2024, https://example.org/a/b'
    """
    text = _UNSEEN.sub("", "\n".join(text.splitlines()))
    text = _OWN_FOLDER.sub(lambda found: "" if found["more"] else "(folder left out)", text)
    text = _FOLDERS.sub("", text)
    text = _LETTER_ADDRESS.sub("(address left out)", text)
    account = _account()
    return account.sub("(name left out)", text) if account else text


@cache
def _account() -> re.Pattern | None:
    """The names this computer knows its owner by, as far as they are names."""
    names = {Path.home().name}
    with contextlib.suppress(OSError, KeyError, ImportError):
        names.add(getpass.getuser())
    names = {re.escape(name) for name in names if len(name) > 2 and name.lower() not in _NOBODY}
    return re.compile(rf"\b(?:{'|'.join(sorted(names))})\b", re.IGNORECASE) if names else None
