"""The reader held against partitura on the scores that music21 ships: invented files are too tidy."""

from itertools import zip_longest

import pytest

from rhythmtrain.score.musicxml.document import Score, read_score
from rhythmtrain.score.musicxml.parts import choose_part
from rhythmtrain.score.musicxml.passage import part_passage
from rhythmtrain.score.musicxml.ties import file_starts, joined_notes
from tests.simulate.score_corpus import DIFFERENCES, UNREAD, compared, corpus

SAMPLED = 30
LARGEST_SAMPLED = 60_000
FEWEST_SAME = 0.995


def sample() -> list[str]:
    """Return some scores of every kind, none of them large."""
    folder, names = corpus()
    small = [name for name in names if (folder / name).stat().st_size < LARGEST_SAMPLED]
    return small[:: len(small) // SAMPLED]


def test_a_sample_of_scores_has_the_onsets_that_partitura_reads() -> None:
    """Real programs wrote these files, in all their ways."""
    folder, _ = corpus()
    count, differing = compared(folder, sample())
    assert count > SAMPLED
    assert differing <= set(DIFFERENCES)


@pytest.mark.long
def test_all_the_scores_have_the_onsets_that_partitura_reads() -> None:
    """2 594 parts, of which 8 differ, each for a reason that is written down."""
    folder, names = corpus()
    count, differing = compared(folder, names)
    assert count > 2500
    assert differing == set(DIFFERENCES)
    assert 1 - len(differing) / count >= FEWEST_SAME


@pytest.mark.long
def test_every_score_becomes_a_passage_with_its_parts_in_step() -> None:
    """Also those that partitura cannot read."""
    folder, names = corpus()
    assert set(names) >= UNREAD
    for name in names:
        read = read_score((folder / name).read_bytes(), name=name)
        assert _in_step(read), name
        passage = part_passage(read, choose_part(read)[0]).passage
        assert passage.bars


def _in_step(read: Score) -> bool:
    """Return whether every part has its bars under the shared numbers, and every note in its bar."""
    starts = file_starts(read.bars)
    return all(
        {measure.printed for measure in column if measure is not None} == {column[0].printed}
        for column in zip_longest(*(part.measures for part in read.parts))
        if column[0] is not None
    ) and all(
        starts[note.bar] <= note.at < starts[note.bar + 1]
        for part in read.parts
        for note in joined_notes(part.measures, read.bars)
    )
