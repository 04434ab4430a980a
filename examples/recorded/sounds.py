"""Sounds of bouncing balls with known truth; nothing here was ever recorded.

A ball flies exactly (drag, buoyancy, carried air), touches the ground for a time that falls with speed, and each touch
makes a sound: the change of the contact force as it is radiated at once, and the modes of ball and ground that the
force drives. Around it come a room, speech-like sound, hum, hiss, knocks, a recorder that clips or pumps its gain, and
coders that lose something. The truth is the moment of first touch.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from ballbench.physics.vertical_flight import Faller, flight_time_of, impact_speed_after, impact_speed_of

__all__ = [
    "CONTACTS", "Bounces", "Contact", "bounces_of", "clapping", "clipped", "coded", "ducked", "gain_pumped", "gated",
    "handling", "hiss", "hum", "in_a_room", "knocking", "sound_of", "speech_like", "struck", "wind", "write_wav",
]  # fmt: skip

Array = NDArray[np.float64]

_FINE = 8  # impacts are made at so many times the rate, so that they begin between samples


@dataclass(frozen=True, slots=True)
class Contact:
    """How a touch sounds.

    Parameters
    ----------
    time : float
        Contact time at 1 m/s, s; it falls with the fifth root of the speed (Hertz; from memory).
    modes : tuple of (float, float, float)
        Frequency Hz, decay time s and strength of what rings on.
    at_once : float
        Strength of the sound that follows the change of the force.
    rough : float
        Strength of the noise of rubbing while in contact.
    varies : float
        Standard deviation of the logarithm of each mode's strength from touch to touch: the ball turns.
    """

    time: float
    modes: tuple[tuple[float, float, float], ...]
    at_once: float = 1.0
    rough: float = 0.1
    varies: float = 0.25


CONTACTS = {
    "light shell on steel": Contact(
        0.9e-3, ((1350.0, 8e-3, 0.5), (3170.0, 5e-3, 0.7), (5600.0, 3e-3, 0.6), (8400.0, 2e-3, 0.4))
    ),
    "hard ball on stone": Contact(0.45e-3, ((2100.0, 6e-3, 0.5), (4700.0, 4e-3, 0.6), (7900.0, 2.5e-3, 0.5))),
    "steel on steel": Contact(0.15e-3, ((3300.0, 25e-3, 0.6), (6900.0, 18e-3, 0.5), (11200.0, 9e-3, 0.4))),
    "felt ball on concrete": Contact(4.0e-3, ((310.0, 12e-3, 0.8), (790.0, 6e-3, 0.6), (1650.0, 3e-3, 0.3)), rough=0.3),
    "rubber ball on wood": Contact(2.5e-3, ((180.0, 30e-3, 0.9), (520.0, 15e-3, 0.7), (1250.0, 7e-3, 0.4))),
}
"""Contact times are of the order that is usual for such balls (from memory); the modes are invented."""


@dataclass(frozen=True, slots=True)
class Bounces:
    """The truth of one drop.

    Parameters
    ----------
    times : array (n,)
        First touches, s from the first one.
    speeds : array (n,)
        Speed of each impact, m/s.
    restitution : array (n,)
        Of each impact, launch speed over impact speed.
    contact : array (n,)
        Contact times, s.
    faller : Faller
        The ball and the air.
    height : float
        Of the drop, m.
    """

    times: Array
    speeds: Array
    restitution: Array
    contact: Array
    faller: Faller
    height: float


def bounces_of(height: float, restitution: Sequence[float] | Array, faller: Faller, contact: float = 1e-3) -> Bounces:
    """Let a ball fall from `height` (m) and bounce with the planted restitutions, one an impact.

    Parameters
    ----------
    height : float
        From the ball's underside, m.
    restitution : sequence of float
        Of the impacts in turn; the last is not used, for nothing is heard after it.
    faller : Faller
        The ball and the air.
    contact : float
        Contact time at 1 m/s, s.

    Returns
    -------
    Bounces
        The truth; a flight is from the end of one contact to the start of the next.
    """
    planted = np.asarray(restitution, dtype=np.float64)
    speeds, times, contacts = [float(impact_speed_after(height, faller))], [0.0], []
    for e in planted:
        contacts.append(contact * speeds[-1] ** -0.2)
        launch = e * speeds[-1]
        times.append(times[-1] + contacts[-1] + float(flight_time_of(launch, faller)))
        speeds.append(float(impact_speed_of(launch, faller)))
    n = planted.size
    return Bounces(np.array(times[:n]), np.array(speeds[:n]), planted, np.array(contacts), faller, height)


def sound_of(
    bounces: Bounces,
    kind: Contact,
    rng: np.random.Generator,
    *,
    rate: int = 48_000,
    start: float = 0.5,
    seconds: float | None = None,
) -> tuple[Array, Array]:
    """Give the dry sound of a drop, and the true onsets in it.

    Parameters
    ----------
    bounces : Bounces
        The drop.
    kind : Contact
        How it sounds; its contact time is taken from `bounces`.
    rng : Generator
        For what varies from touch to touch.
    rate : int
        Samples a second.
    start : float
        Where the first touch is, s.
    seconds : float or None
        Length; one second after the last touch when left out.

    Returns
    -------
    samples : array (n,)
        The first touch at 1 m/s has a peak of about 1.
    onsets : array (k,)
        First touches, s.
    """
    onsets = start + bounces.times
    length = math.ceil((seconds if seconds is not None else onsets[-1] + 1.0) * rate)
    samples = np.zeros(length)
    for onset, speed, contact in zip(onsets, bounces.speeds, bounces.contact, strict=True):
        whole = math.floor(onset * rate)
        touch = _touch(kind, contact, speed, onset * rate - whole, rate, rng)
        first = whole - _LEAD
        begin, end = max(first, 0), min(first + touch.size, length)
        if end > begin:
            samples[begin:end] += touch[begin - first : end - first]
    return samples, onsets


_LEAD = 32  # samples before the touch, for what the anti-alias filter rings ahead


def _touch(kind: Contact, contact: float, speed: float, part: float, rate: int, rng: np.random.Generator) -> Array:
    """Sound of one touch that begins `part` of a sample after sample `_LEAD`."""
    fine = rate * _FINE
    longest = contact + 7.0 * max(decay for _, decay, _ in kind.modes)
    time = np.arange(math.ceil(longest * fine)) / fine
    pressed = np.clip(time / contact, 0.0, 1.0)
    force = np.sin(np.pi * pressed) ** 1.5
    change = np.gradient(force, time) * contact / np.pi
    sound = kind.at_once * change
    for frequency, decay, strength in kind.modes:
        turned = frequency * (1.0 + 0.01 * rng.standard_normal())
        struck = strength * math.exp(kind.varies * rng.standard_normal())
        ring = np.sin(2.0 * np.pi * turned * time) * np.exp(-time / decay)
        driven = signal.oaconvolve(ring, force[: math.ceil(contact * fine) + 1])[: time.size] / fine
        scale = np.max(np.abs(driven))
        sound = sound + struck * driven / scale if scale > 0.0 else sound
    sound = sound + kind.rough * force * signal.lfilter([1.0], [1.0, -0.5], rng.standard_normal(time.size))
    late = np.zeros(_LEAD * _FINE + round(part * _FINE))
    coarse: Array = signal.resample_poly(np.concatenate([late, sound]), 1, _FINE)
    return coarse * speed**1.2


def in_a_room(
    samples: Array, rng: np.random.Generator, *, rate: int = 48_000, decay: float = 0.4, wet: float = 0.1
) -> Array:
    """Add six early reflections (2 to 25 ms) and a tail that falls by 60 dB in `decay` seconds; same length."""
    length = math.ceil(decay * rate)
    response = np.zeros(length)
    response[0] = 1.0
    time = np.arange(length) / rate
    tail = rng.standard_normal(length) * 10.0 ** (-3.0 * time / decay) * (time > 4e-3)
    response += wet * tail / math.sqrt(float(np.sum(tail**2)) + 1e-30)
    for delay, share in zip(rng.uniform(2e-3, 25e-3, 6), rng.uniform(0.05, 0.4, 6), strict=True):
        response[min(round(delay * rate), length - 1)] += share * rng.choice((-1.0, 1.0))
    out: Array = signal.fftconvolve(samples, response)[: samples.size]
    return out


def hiss(length: int, rng: np.random.Generator, *, colour: float = 0.0) -> Array:
    """Noise of unit root mean square whose power falls with the frequency to the power `colour` (0 white, 1 pink)."""
    spectrum = np.fft.rfft(rng.standard_normal(length))
    frequency = np.maximum(np.fft.rfftfreq(length), 20.0 / 48_000)
    out = np.fft.irfft(spectrum * frequency ** (-colour / 2.0), length)
    return out / math.sqrt(float(np.mean(out**2)))


def hum(length: int, rng: np.random.Generator, *, rate: int = 48_000, mains: float = 50.0) -> Array:
    """Mains hum with ten harmonics, unit root mean square."""
    time = np.arange(length) / rate
    out = np.zeros(length)
    for number in range(1, 11):
        out += np.sin(2.0 * np.pi * mains * number * time + rng.uniform(0, 2 * np.pi)) * rng.uniform(0.3, 1) / number
    return out / math.sqrt(float(np.mean(out**2)))


def speech_like(length: int, rng: np.random.Generator, *, rate: int = 48_000) -> Array:
    """Syllables as people make them: voiced with formants, hissed, and with bursts; pauses between; peak 1."""
    out = np.zeros(length)
    at, pitch = rng.uniform(0.0, min(0.3, 0.5 * length / rate)), rng.uniform(90.0, 240.0)
    while at < length / rate:
        lasts = rng.uniform(0.08, 0.3)
        sort = rng.random()
        if sort < 0.3:
            _lay(out, _burst(rate, rng) * rng.uniform(0.2, 0.7), at, rate)
        if sort > 0.75:
            _lay(out, _hissed(lasts * 0.6, rate, rng) * rng.uniform(0.1, 0.4), at, rate)
        _lay(out, _voiced(lasts, pitch * rng.uniform(0.85, 1.2), rate, rng) * rng.uniform(0.4, 1.0), at + 0.012, rate)
        at += lasts * rng.uniform(0.8, 1.3) + (rng.uniform(0.2, 0.9) if rng.random() < 0.12 else 0.0)
    return out / max(float(np.max(np.abs(out))), 1e-30)


def _lay(out: Array, piece: Array, at: float, rate: int) -> None:
    begin = round(at * rate)
    if 0 <= begin < out.size:
        end = min(begin + piece.size, out.size)
        out[begin:end] += piece[: end - begin]


def _burst(rate: int, rng: np.random.Generator) -> Array:
    """A plosive: noise that rises in half a millisecond to two and falls within some ten."""
    time = np.arange(round(0.03 * rate)) / rate
    shape = np.minimum(time / rng.uniform(0.5e-3, 2e-3), 1.0) * np.exp(-time / rng.uniform(3e-3, 9e-3))
    noise = _resonated(rng.standard_normal(time.size), rng.uniform(1500.0, 5000.0), 1500.0, rate)
    return shape * noise / (np.max(np.abs(noise)) + 1e-30)


def _hissed(lasts: float, rate: int, rng: np.random.Generator) -> Array:
    time = np.arange(round(lasts * rate)) / rate
    noise = _resonated(rng.standard_normal(time.size), min(rng.uniform(3000.0, 7000.0), 0.4 * rate), 2500.0, rate)
    shape = np.sin(np.pi * np.clip(time / lasts, 0.0, 1.0)) ** 0.7
    return shape * noise / (np.max(np.abs(noise)) + 1e-30)


def _voiced(lasts: float, pitch: float, rate: int, rng: np.random.Generator) -> Array:
    time = np.arange(round(lasts * rate)) / rate
    bend = 1.0 + rng.uniform(-0.15, 0.15) * time / lasts
    phase = np.cumsum(pitch * bend / rate)
    pulses = np.diff(np.floor(phase), prepend=0.0) + 0.03 * rng.standard_normal(time.size)
    source = signal.lfilter([1.0], [1.0, -0.95], pulses)
    sound = np.zeros(time.size)
    for low, high, width in ((250.0, 900.0, 90.0), (900.0, 2400.0, 120.0), (2300.0, 3400.0, 180.0)):
        sound += _resonated(source, rng.uniform(low, high), width, rate)
    rise, fall = rng.uniform(0.01, 0.05), rng.uniform(0.03, 0.1)
    shape = np.clip(time / rise, 0.0, 1.0) * np.clip((lasts - time) / fall, 0.0, 1.0)
    return shape * sound / (np.max(np.abs(sound)) + 1e-30)


def _resonated(source: Array, frequency: float, width: float, rate: int) -> Array:
    radius = math.exp(-math.pi * width / rate)
    out: Array = signal.lfilter(
        [1.0 - radius], [1.0, -2.0 * radius * math.cos(2.0 * math.pi * frequency / rate), radius**2], source
    )
    return out


def clapping(length: int, rng: np.random.Generator, *, rate: int = 48_000, a_second: float = 2.0) -> Array:
    """Hands that clap at random moments; peak about 1."""
    out = np.zeros(length)
    at = rng.exponential(1.0 / a_second)
    while at < length / rate:
        time = np.arange(round(0.04 * rate)) / rate
        noise = _resonated(rng.standard_normal(time.size), rng.uniform(900.0, 2200.0), 900.0, rate)
        shape = np.minimum(time / 3e-4, 1.0) * np.exp(-time / rng.uniform(3e-3, 8e-3))
        _lay(out, shape * noise / np.max(np.abs(noise)) * rng.uniform(0.4, 1.0), at, rate)
        at += rng.exponential(1.0 / a_second)
    return out


def knocking(
    length: int, rng: np.random.Generator, *, rate: int = 48_000, every: float = 0.4, jitter: float = 0.02
) -> Array:
    """Knuckles on wood in an even beat with a person's jitter (share of the beat); peak about 1."""
    out = np.zeros(length)
    kind = CONTACTS["rubber ball on wood"]
    at = rng.uniform(0.1, 0.5)
    while at < length / rate - 0.2:
        touch = _touch(kind, 1.5e-3, rng.uniform(0.6, 1.0), rng.uniform(0.0, 1.0), rate, rng)
        _lay(out, touch, at, rate)
        at += every * (1.0 + jitter * rng.standard_normal())
    return out


def struck(
    times: Array, strengths: Array, kind: Contact, rng: np.random.Generator, *, rate: int = 48_000, tail: float = 1.0
) -> Array:
    """Give the dry sound of touches at `times` (s), as strong as at speeds of `strengths` (m/s): knocks of no ball."""
    out = np.zeros(math.ceil((float(times[-1]) + tail) * rate))
    for time, strength in zip(times, strengths, strict=True):
        whole = math.floor(time * rate)
        touch = _touch(kind, kind.time * strength**-0.2, float(strength), time * rate - whole, rate, rng)
        begin, end = max(whole - _LEAD, 0), min(whole - _LEAD + touch.size, out.size)
        out[begin:end] += touch[begin - whole + _LEAD : end - whole + _LEAD]
    return out


def handling(length: int, rng: np.random.Generator, *, rate: int = 48_000) -> Array:
    """A phone that is moved: rumbling below 150 Hz in swells, with scratches; peak 1."""
    low = signal.sosfilt(signal.butter(2, 150.0, fs=rate, output="sos"), rng.standard_normal(length))
    swell = np.abs(signal.sosfilt(signal.butter(1, 1.5, fs=rate, output="sos"), rng.standard_normal(length)))
    out: Array = low * swell
    out = out / np.max(np.abs(out))
    for at in rng.uniform(0.0, length / rate, rng.poisson(length / rate)):
        _lay(out, _hissed(rng.uniform(0.02, 0.12), rate, rng) * rng.uniform(0.05, 0.4), at, rate)
    return out / np.max(np.abs(out))


def wind(length: int, rng: np.random.Generator, *, rate: int = 48_000) -> Array:
    """Gusts over a microphone: rumbling below 40 to 300 Hz that swells; peak 1."""
    low = signal.sosfilt(signal.butter(1, rng.uniform(40.0, 300.0), fs=rate, output="sos"), rng.standard_normal(length))
    gust = signal.butter(1, rng.uniform(0.5, 4.0), fs=rate, output="sos")
    out: Array = low * np.abs(signal.sosfilt(gust, rng.standard_normal(length)))
    return out / np.max(np.abs(out))


def clipped(samples: Array, limit: float) -> Array:
    """Cut off at `limit` and set so that the limit is full scale."""
    return np.clip(samples, -limit, limit) / limit


def gain_pumped(
    samples: Array, *, rate: int = 48_000, target: float = 0.25, attack: float = 3e-3, release: float = 0.5
) -> Array:
    """Send the sound through an automatic gain that holds its level: quick down, slowly up, at most 40 dB up."""
    step = 32
    peaks = np.abs(samples[: samples.size // step * step]).reshape(-1, step).max(axis=1)
    down, up = math.exp(-step / (attack * rate)), math.exp(-step / (release * rate))
    level, gains = target, np.empty(peaks.size)
    for number, peak in enumerate(peaks):
        keep = down if peak > level else up
        level = max(keep * level + (1.0 - keep) * peak, target / 100.0)
        gains[number] = target / level
    at = (np.arange(peaks.size) + 0.5) * step
    return samples * np.interp(np.arange(samples.size), at, gains)


def gated(
    samples: Array, *, rate: int = 48_000, over: float = 0.01, attack: float = 4e-3, hold: float = 0.08,
    release: float = 0.05,
) -> Array:  # fmt: skip
    """Silence all that does not rise over `over`: a gate that opens within `attack` s and closes after `hold` s."""
    step = max(round(0.5e-3 * rate), 1)
    peaks = np.maximum.reduceat(np.abs(samples), np.arange(0, samples.size, step))
    open_, left, gains = 0.0, 0.0, np.empty(peaks.size)
    for number, peak in enumerate(peaks):
        left = hold if peak > over else left - step / rate
        change = step / rate / attack if left > 0.0 else -step / rate / release
        open_ = min(max(open_ + change, 0.0), 1.0)
        gains[number] = open_
    at = (np.arange(peaks.size) + 0.5) * step
    return samples * np.interp(np.arange(samples.size), at, gains)


def ducked(
    samples: Array, first: float, *, rate: int = 48_000, by: float = 15.0, after: float = 0.02, fall: float = 0.01,
    back: float = 2.0,
) -> Array:  # fmt: skip
    """Turn the gain down by `by` dB from `after` s behind the first loud sound (at `first` s) on, slowly up again."""
    since = np.arange(samples.size) / rate - first - after
    down = by * np.clip(since / fall, 0.0, 1.0) * np.exp(-np.maximum(since - fall, 0.0) / back)
    out: Array = samples * 10.0 ** (-down / 20.0)
    return out


def write_wav(path: Path, samples: Array, rate: int = 48_000, bits: int = 16) -> None:
    """Write samples ((n,) or (channels, n), in [-1, 1]) as WAV of 8, 16, 24 or 32 bits a sample."""
    import wave  # noqa: PLC0415 - only where a file is written

    many = np.atleast_2d(samples)
    full = 2 ** (bits - 1) - 1
    whole = np.round(np.clip(many.T, -1.0, 1.0) * full).astype(np.int64)
    wide = whole.astype("<i4").reshape(-1, 1).view(np.uint8).reshape(-1, 4)[:, : bits // 8]
    data = (whole + 128).astype(np.uint8).tobytes() if bits == 8 else wide.tobytes()
    with wave.open(str(path), "wb") as file:
        file.setnchannels(many.shape[0])
        file.setsampwidth(bits // 8)
        file.setframerate(rate)
        file.writeframes(data)


def coded(
    samples: Array, codec: str, *, rate: int = 48_000, bit_rate: int = 96_000, container: str | None = None,
    comment: str = "",
) -> bytes:  # fmt: skip
    """Code samples ((n,) or (channels, n)) with ``"aac"``, ``"libmp3lame"``, ``"libopus"``, ``"flac"``, PCM.

    A `comment` is what the file says of itself.

    Returns
    -------
    bytes
        The file.
    """
    import av  # noqa: PLC0415 - only where a file is coded

    many = np.atleast_2d(np.asarray(samples, dtype=np.float32))
    usual = {"aac": "mp4", "libmp3lame": "mp3", "libopus": "ogg", "flac": "flac"}
    file = io.BytesIO()
    layout = "mono" if many.shape[0] == 1 else "stereo"
    with av.open(file, "w", format=container or usual.get(codec, "mp4")) as out:
        if comment:
            out.metadata["comment"] = comment
        stream = out.add_stream(codec, rate=rate, layout=layout)
        if codec not in {"flac", "alac"} and not codec.startswith("pcm"):
            stream.bit_rate = bit_rate
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(many), format="fltp", layout=layout)
        frame.sample_rate, frame.pts = rate, 0
        resampler = av.AudioResampler(format=stream.format.name, layout=layout, rate=rate)
        for piece in [*resampler.resample(frame), *resampler.resample(None)]:
            for packet in stream.encode(piece):
                out.mux(packet)
        for packet in stream.encode(None):
            out.mux(packet)
    return file.getvalue()
