"""Files of sound as phones, cameras and video sites write them, made by FFmpeg's libraries."""

from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

Sound = NDArray[np.float32]
CHANNELS = {"mono": 1, "stereo": 2, "5.1": 6}
PICTURES, PICTURES_A_SECOND = 40, 5


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: its ending, its codec or (``plain``) the sample format, and what is in it."""

    ending: str
    codec: str
    rate: int = 44_100
    layout: str = "stereo"
    film: bool = False
    plain: bool = False

    def __str__(self) -> str:
        """Return the name of the kind for a test."""
        return f"{self.codec}-{self.rate}-{self.layout}{self.ending}"


def strokes(rate: int, channels: int, *, first_s: float, beat_s: float, beats: int) -> Sound:
    """Return a stroke on every beat, shape (n, channels)."""
    t = np.arange(int((first_s + beat_s * beats + 0.5) * rate)) / rate
    sound = np.zeros(t.size)
    for beat in range(beats):
        since = t - first_s - beat_s * beat
        decay = np.exp(-since.clip(0) / 0.12)
        sound += 0.3 * (since >= 0) * decay * np.sin(2 * np.pi * 330 * since)
    return np.repeat(sound[:, None].astype(np.float32), channels, axis=1)


def written(folder: Path, kind: Kind, sound: Sound) -> Path:
    """Write ``sound``, shape (n, channels), as ``kind`` and return the file."""
    path = folder / f"piano{kind.ending}"
    if kind.plain:
        soundfile.write(str(path), sound, kind.rate, subtype=kind.codec)
        return path
    with av.open(str(path), "w") as container:
        film = (
            container.add_stream(
                "libvpx" if kind.ending == ".webm" else "mpeg4", rate=PICTURES_A_SECOND
            )
            if kind.film
            else None
        )
        stream = container.add_stream(kind.codec, rate=kind.rate)
        assert isinstance(stream, av.AudioStream)
        stream.layout = kind.layout
        if film is not None:
            assert isinstance(film, av.VideoStream)
            _filmed(container, film)
        _heard(container, stream, sound, kind)
    return path


def _filmed(container: "av.container.OutputContainer", film: av.VideoStream) -> None:
    film.width = film.height = 64
    film.pix_fmt = "yuv420p"
    for _ in range(PICTURES):
        picture = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
        container.mux(film.encode(picture))
    container.mux(film.encode(None))


def _heard(
    container: "av.container.OutputContainer", stream: av.AudioStream, sound: Sound, kind: Kind
) -> None:
    frame = av.AudioFrame.from_ndarray(
        np.ascontiguousarray(sound.T), format="fltp", layout=kind.layout
    )
    frame.sample_rate, frame.pts = kind.rate, 0
    size = stream.codec_context.frame_size or 1024
    resampler = av.AudioResampler(
        format=stream.format.name, layout=kind.layout, rate=kind.rate, frame_size=size
    )
    for part in (*resampler.resample(frame), *resampler.resample(None)):
        container.mux(stream.encode(part))
    container.mux(stream.encode(None))
