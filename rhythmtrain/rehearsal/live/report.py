"""The report page of takes that were played here: what a microphone heard is kept while it is made."""

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.checking.report_page import write_page
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.storage.audio_files import write_audio

TITLE = "What was heard"


def write_live_page(takes: Sequence[tuple[Checked, Performance]], output: Path) -> None:
    """Write the report page of ``takes`` to ``output``.

    Raises:
        FileError: the page cannot be written.
    """
    with TemporaryDirectory(prefix="rhythmtrain-") as folder:
        pairs = [
            (checked, take_file(performance, Path(folder), number))
            for number, (checked, performance) in enumerate(takes, start=1)
        ]
        write_page(pairs, output, title=TITLE)


def take_file(performance: Performance, folder: Path, number: int) -> Path:
    """Return where the sound of a take lies; a name alone where it is only a list of times."""
    gathered = performance.gathered
    path = folder / f"take {number}.wav"
    if performance.take.source != "audio":
        return path.with_name(gathered.heard_from)
    sound = gathered.recorded[round(max(performance.delay.delay_s, 0.0) * gathered.rate) :]
    write_audio(path, iter([sound[:, None]]), gathered.rate, title=TITLE, comment="")
    return path
