"""A sound recording of a run-down, one tick a turn, made into pulse stamps.

A strip of card that a chuck jaw touches, or a dog that clicks, is loud enough. The ticks are picked out of
hum, motor noise and voices by their sharpness; the fit counts missed ones in and leaves echoes out.
"""

import io
import warnings

import numpy as np

from machinelab.errors import LogError
from machinelab.workbook.speed_log.log import FEWEST_READINGS, SpeedLog

SHORTEST_S, LONGEST_S = 1.0, 1800.0
MOST_CHANNELS = 8
# Ticks are short: they stand out above the hum of mains and motor, below the hiss of a bad microphone.
_BAND_HZ = (1500.0, 7000.0)
_SMOOTH_S = 0.0015
_SURROUNDINGS_S = 2.0
_FASTEST_TURN_S = 0.012
_LOUDER_THAN_USUAL = 2.0
_NEARLY_AS_LOUD = 0.35
_INAUDIBLE = 1e-6
_SHARP_SHARE = 0.6
_REGULAR_SHARE = 0.6


def is_sound(raw: bytes) -> bool:
    """Whether the bytes of a file begin like a WAV recording."""
    return raw[:4] == b"RIFF" and raw[8:12] == b"WAVE"


def read_sound(raw: bytes, name: str, sha256: str) -> SpeedLog:
    """Pick the ticks out of a WAV recording.

    Parameters
    ----------
    raw : bytes
        The recording: mono or stereo, whole numbers or floating point, any usual rate.
    name, sha256 : str
        What to call it, and the fingerprint of its bytes.

    Returns
    -------
    SpeedLog
        Of kind ``"pulses"``, one mark a turn.

    Raises
    ------
    LogError
        When it cannot be opened, is too long, silent, or holds no ticks that follow each other regularly.
    """
    rate_hz, channels = _samples(raw, name)
    notes = [f"Sound of {channels.shape[0] / rate_hz:.1f} s at {rate_hz} samples a second."]
    heard = [_ticks(channel, rate_hz) for channel in channels.T]
    regular = [_regularity(stamps) for stamps in heard]
    best = int(np.argmax(regular))
    stamps = heard[best]
    if channels.shape[1] > 1:
        notes.append(f"Of {channels.shape[1]} channels, number {best + 1} has the more regular ticks.")
    if stamps.size < FEWEST_READINGS or regular[best] < _REGULAR_SHARE:
        raise LogError(
            f"{name}: no ticks that follow each other regularly were heard ({stamps.size} sharp sounds). Let "
            "something click once a turn, hold the microphone near it, and keep quiet while it runs down."
        )
    notes.append(f"{stamps.size} ticks, taken as one a turn.")
    rows = np.arange(1, stamps.size + 1)
    return SpeedLog("pulses", name, rows, sha256, tuple(notes), pulse_s=stamps, marks_per_turn=1)


def _samples(raw, name):
    from scipy.io import wavfile

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", wavfile.WavFileWarning)
            rate_hz, samples = wavfile.read(io.BytesIO(raw))
    except Exception:  # the reader raises whatever a broken header leads it to
        raise LogError(
            f"{name}: this recording cannot be opened: its header is damaged or of a rare kind. "
            "Save it as a plain WAV file."
        ) from None
    if rate_hz < 4 * _BAND_HZ[0] or samples.size == 0:
        raise LogError(
            f"{name}: {rate_hz} samples a second do not hold the sharp part of a tick; record at 16000 up."
        )
    if not SHORTEST_S * rate_hz < samples.shape[0] < LONGEST_S * rate_hz:
        raise LogError(
            f"{name}: {samples.shape[0] / rate_hz:.3g} s of sound. Record the whole run-down, from a second "
            f"up to {LONGEST_S / 60:.0f} minutes."
        )
    if samples.ndim > 1 and samples.shape[1] > MOST_CHANNELS:
        raise LogError(f"{name}: {samples.shape[1]} channels cannot be right. Save it as mono or stereo.")
    whole = np.issubdtype(samples.dtype, np.integer)
    scale = float(np.iinfo(samples.dtype).max) if whole else 1.0
    channels = samples.reshape(samples.shape[0], -1).astype(np.float32) / scale
    # Eight-bit recordings sit at mid-scale instead of nought.
    channels -= np.mean(channels, axis=0)
    if not np.all(np.isfinite(channels)) or np.max(np.abs(channels)) < 1e-4:
        raise LogError(f"{name}: the recording is silent. Was the microphone on?")
    return int(rate_hz), channels


def _ticks(channel, rate_hz):
    """Moments of sharp sounds that stand out from what is usual around them."""
    from scipy.ndimage import percentile_filter, uniform_filter1d
    from scipy.signal import butter, find_peaks, sosfiltfilt

    upper = min(_BAND_HZ[1], 0.45 * rate_hz)
    band = butter(4, (_BAND_HZ[0], upper), "bandpass", fs=rate_hz, output="sos")
    width = max(1, round(_SMOOTH_S * rate_hz))
    loudness = np.sqrt(uniform_filter1d(sosfiltfilt(band, channel) ** 2, width).clip(min=0))
    coarse = max(1, round(0.01 * rate_hz))
    blocks = loudness[: loudness.size // coarse * coarse].reshape(-1, coarse).max(axis=1)
    if blocks.size < 3:
        return np.empty(0)
    around = max(3, round(_SURROUNDINGS_S / 0.01))
    usual = percentile_filter(blocks, 40, size=around, mode="nearest")
    # A second threshold near the ticks' own loudness leaves the knocks of bearings out.
    loud = percentile_filter(blocks, 98, size=around, mode="nearest")
    threshold = np.repeat(np.maximum(_LOUDER_THAN_USUAL * usual, _NEARLY_AS_LOUD * loud), coarse)
    threshold = np.pad(threshold, (0, loudness.size - threshold.size), mode="edge") + _INAUDIBLE
    peaks, found = find_peaks(
        loudness, height=threshold, prominence=0, distance=round(_FASTEST_TURN_S * rate_hz)
    )
    # A tick is over at once; a note or a voice stays loud from peak to peak.
    sharp = found["prominences"] > _SHARP_SHARE * found["peak_heights"]
    return peaks[sharp] / rate_hz


def _regularity(stamps):
    """Share of intervals that are like their neighbours; a few missed or extra ticks do no harm."""
    from scipy.ndimage import median_filter

    if stamps.size < FEWEST_READINGS:
        return 0.0
    intervals = np.diff(stamps)
    usual = median_filter(intervals, 9, mode="nearest")
    return float(np.mean(np.abs(intervals / usual - 1) < 0.08))
