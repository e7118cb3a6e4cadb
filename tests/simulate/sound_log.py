"""Recordings of a spindle that clicks once a turn while it runs down, with hum, hiss and knocks; invented."""

import io

import numpy as np
from scipy.io import wavfile
from simulate.coast_log import Truth
from simulate.pulse_log import write_pulses


def a_recording(truth: Truth, seed, *, rate_hz=44100, stereo=False, kind=np.int16, noise=0.02, hum=0.2):
    """Return the bytes of a WAV file."""
    rng = np.random.default_rng(seed)
    stamps = write_pulses(truth, seed, jitter_s=1e-4, missed=0.0, extra=0.0)
    size = int((stamps[-1] + 3) * rate_hz)
    time_s = np.arange(size) / rate_hz
    sound = hum * np.sin(2 * np.pi * 50 * time_s) + 0.3 * hum * np.sin(2 * np.pi * 150 * time_s + 1)
    sound += noise * rng.standard_normal(size)
    length = int(0.006 * rate_hz)
    ring = np.exp(-np.arange(length) / (0.0012 * rate_hz)) * np.sin(
        2 * np.pi * 3200 * np.arange(length) / rate_hz
    )
    for stamp in stamps:
        place = int(stamp * rate_hz)
        sound[place : place + length] += rng.uniform(0.5, 0.9) * ring[: size - place]
    return wav(
        np.column_stack([0.3 * rng.standard_normal(size) * noise, sound]) if stereo else sound, rate_hz, kind
    )


def music_like(seed, *, rate_hz=44100, seconds=20):
    """Return a recording of notes that start at uneven moments."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(seconds * rate_hz) / rate_hz
    sound = np.zeros(time_s.size)
    for start in np.cumsum(rng.uniform(0.05, 0.7, 80)):
        place = int(start * rate_hz)
        if place < sound.size:
            fade = np.exp(-(time_s[place:] - start) / rng.uniform(0.02, 0.4))
            sound[place:] += (
                rng.uniform(0.1, 0.4) * fade * np.sin(2 * np.pi * rng.uniform(200, 5000) * time_s[place:])
            )
    return wav(sound + 0.005 * rng.standard_normal(sound.size), rate_hz, np.int16)


def wav(sound, rate_hz, kind):
    """Write samples from -1 to 1 as a WAV file in memory."""
    sound = np.clip(sound, -1, 1)
    if kind is np.uint8:
        samples = np.round(127.5 + 127 * sound).astype(np.uint8)
    elif np.issubdtype(kind, np.integer):
        samples = np.round(sound * np.iinfo(kind).max).astype(kind)
    else:
        samples = sound.astype(kind)
    file = io.BytesIO()
    wavfile.write(file, rate_hz, samples)
    return file.getvalue()
