"""A recording with one tick a turn becomes a coast-down; silence, music and rubbish are told in words."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simulate.coast_log import Truth
from simulate.sound_log import a_recording, music_like, wav

from machinelab.errors import LogError
from machinelab.spindle.coastdown import fit
from machinelab.workbook import speed_log

# Each case works a whole run, box or card out.
pytestmark = pytest.mark.slow

SPINDLE = Truth(1200, 3.0, 0.02, 1e-4)
RECORDINGS = {
    "telephone": {},
    "stereo in floating point": {"stereo": True, "kind": np.float32, "rate_hz": 48000},
    "eight bits": {"kind": np.uint8, "rate_hz": 22050},
    "hiss and hum": {"rate_hz": 16000, "noise": 0.06, "hum": 0.4},
    "studio": {"kind": np.int32, "rate_hz": 96000},
}


@pytest.mark.parametrize("how", RECORDINGS)
def test_a_recording_of_ticks_gives_the_stop_time(how):
    log = speed_log.read(a_recording(SPINDLE, seed=3, **RECORDINGS[how]))
    assert log.kind == "pulses"
    found, (stop_s, _) = fit(log).stop_time_s(1000), SPINDLE.stop(1000)
    assert found.value == pytest.approx(stop_s, rel=1e-3)
    assert found.interval[0] <= stop_s <= found.interval[1]


def test_the_channel_with_the_ticks_is_named():
    log = speed_log.read(a_recording(SPINDLE, seed=3, stereo=True))
    assert any("number 2 has the more regular ticks" in note for note in log.notes)


def test_silence_is_called_silence():
    with pytest.raises(LogError, match="silent"):
        speed_log.read(wav(np.zeros(44100 * 5), 44100, np.int16))


@pytest.mark.parametrize("seed", range(6))
def test_music_is_no_run_down(seed):
    with pytest.raises(LogError, match="no ticks that follow each other regularly"):
        speed_log.read(music_like(seed))


def test_noise_alone_is_no_run_down():
    noise = 0.3 * np.random.default_rng(1).standard_normal(44100 * 10)
    with pytest.raises(LogError, match="no ticks"):
        speed_log.read(wav(noise, 44100, np.int16))


def test_a_recording_of_a_moment_is_too_short():
    with pytest.raises(LogError, match="from a second"):
        speed_log.read(wav(np.sin(np.arange(2000.0)), 44100, np.int16))


def test_a_recording_too_coarse_for_a_tick_says_what_rate_to_use():
    with pytest.raises(LogError, match="16000"):
        speed_log.read(wav(np.ones(4000) * 0.5, 4000, np.int16))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400), st.integers(12, 60))
def test_a_broken_recording_ends_in_words(rubbish, cut):
    whole = wav(np.sin(np.arange(2000.0)), 44100, np.int16)
    for raw in (b"RIFF" + rubbish[:4].ljust(4, b"\0") + b"WAVE" + rubbish, whole[:cut] + rubbish):
        with pytest.raises(LogError):
            speed_log.read(raw)
