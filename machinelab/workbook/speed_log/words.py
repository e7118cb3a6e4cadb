"""The words and units that stand over the columns of logs, in many tongues and spellings.

Vocabulary of loggers, meters and spreadsheets: common practice, no source.
"""

import math
import re
import unicodedata

TIME_SECONDS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0, "d": 86400.0}
SPEED_RPM = {"rpm": 1.0, "rev/s": 60.0, "Hz": 60.0, "rad/s": 30.0 / math.pi, "deg/s": 1.0 / 6.0}

_TIME_UNITS = {
    "ns": {"ns", "nsec", "nanos", "nanoseconds"},
    "us": {"us", "usec", "usecs", "micros", "microsec", "microsecs", "microsecond", "microseconds"},
    "ms": {"ms", "msec", "msecs", "millis", "millisec", "millisecs", "millisecond", "milliseconds", "мс"},
    "s": {
        "s",
        "sec",
        "secs",
        "second",
        "seconds",
        "sek",
        "sekunden",
        "segundos",
        "secondes",
        "secondi",
        "сек",
    },
    "min": {"min", "mins", "minute", "minutes", "minuten", "minutos", "minuti"},
    "h": {"h", "hr", "hrs", "hour", "hours", "stunden", "heures", "horas", "ore"},
    "d": {"days", "tage", "jours"},
}
_PER_MINUTE = r"rev|r|u|tr|tours?|turns?|t|1|obr|ot|об|giri|g|omw|omdr?|varv|o|v|fordulat|ford|cycles"
_SPEED_UNITS = (
    ("rad/s", r"rad(?:ians?)?(?:/|per)?s(?:ec)?\b|rad(?:ians?)?\*?s\^?-1|rad(?:ians?)?/sec"),
    ("deg/s", r"deg(?:rees)?(?:/|per)?s(?:ec)?\b|°/s"),
    ("rpm", rf"rpm|upm|(?:\b|\d)(?:{_PER_MINUTE})\.?(?:/|per)min|min\^?-1|/min|回転数|转/分"),
    ("rev/s", r"\brps\b|(?:\b|\d)(?:rev|r|tr|u|turns?|1)(?:/|per)s(?:ec)?\b|\bs\^?-1"),
    ("Hz", r"(?<![km])hz\b|\bhertz"),
)
# Long words are looked for inside compounds (Spindeldrehzahl), short ones only standing alone.
_WORDS = {
    "time": (
        "time zeit temps tiempo tempo tijd czas čas aika idő время врем 时间 時間 時刻 elapsed stamp epoch "
        "clock heure hora uhr date datum fecha second sekund segund χρόνος",
        "t tid ora",
    ),
    "speed": (
        "speed drehz vitess velocid velocit toeren varvtal omdrej omdrei otáč otac obrot kierros fordul "
        "оборот скорост 回転 转速 轉速 tacho giri régime regime omega frequen",
        "n rpm ω freq rev revs hz rps",
    ),
    "count": ("count edges puls impuls tick encoder zähler zaehler codeur conteggio", "cnt enc pos position"),
    "setpoint": ("setpoint target command consigne sollwert demand", "set soll cmd ref pot"),
    "index": ("index sample record", "no nr num idx row id i lfd #"),
    "other": (
        "volt ampere current strom courant temperat humid torque load power drehmoment pressure",
        "temp u a w c amp amps state status mode",
    ),
}
_LONG = {role: re.compile("|".join(long.split())) for role, (long, _) in _WORDS.items()}
_SHORT = {role: frozenset(short.split()) for role, (_, short) in _WORDS.items()}


def roles_of(heading):
    """What a heading says its column is: any of time, speed, count, setpoint, index, other."""
    text, tokens = _plain(heading)
    found = {role for role in _WORDS if _LONG[role].search(text) or _SHORT[role] & tokens}
    if speed_unit_of(heading):
        return (found | {"speed"}) - {"time", "other"}
    if time_unit_of(heading) and not found & {"speed", "count"}:
        return found | {"time"}
    # 'pulse time us' holds times, not counts.
    return found - {"count"} if "time" in found else found


def time_unit_of(text):
    """The unit of time named in a heading or behind a number, or None."""
    _, tokens = _plain(text)
    return next((unit for unit, spellings in _TIME_UNITS.items() if spellings & tokens), None)


def speed_unit_of(text):
    """The unit of speed named in a heading or behind a number, or None."""
    joined = re.sub(r"[\s_·⋅]+", "", _plain(text)[0].replace("_per_", "/"))
    spaced = re.sub(r"[\s·⋅]+", " ", _plain(text)[0].replace("_", " "))
    for unit, pattern in _SPEED_UNITS:
        if re.search(pattern, spaced) or (unit in ("rad/s", "deg/s", "rpm") and re.search(pattern, joined)):
            return unit
    return None


def _plain(text):
    """The text in one spelling, and the set of its words."""
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text[:200])
    text = unicodedata.normalize("NFKC", text).lower().replace("μ", "u").replace("\u2212", "-")
    return text, set(re.split(r"[^\w#°ω]+|_+", text)) - {""}
