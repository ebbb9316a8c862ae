"""Drill files that do not read: one sentence with file, line and remedy."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import DrillError
from rhythmtrain.score.drill.drill import read_drill

HEAD = 'metre = "2/4"\ntempo = 60\nrhythm = "1 2 & | rest 2 | 1 2"\n'

# What stands after the three lines above (or instead of them), and the message.
ADDED = [
    ("temp = 3", "x.toml:4: a drill has no key 'temp'; did you mean 'tempo'?"),
    ("xyzzy = 3", "x.toml:4: a drill has no key 'xyzzy'; it may hold about, accompaniment, bars"),
    ("title = 3", "x.toml:4: title must be text between quotation marks, got '3'"),
    ("title = [1]", "x.toml:4: title must be text between quotation marks, got 'a list'"),
    (r'title = "a\u0000"', "x.toml:4: title must be one line of at most 500 letters"),
    (f'about = "{"a" * 501}"', "x.toml:4: about must be one line of at most 500 letters"),
    ('beat = "quater"', "x.toml:4: there is no beat 'quater'; did you mean 'quarter'?"),
    ('beat = "dotted quarter"', "x.toml:4: a bar of 2/4 cannot be counted in dotted quarter beats"),
    ('part = "Oboe"', "x.toml:4: part belongs to a score"),
    ('bars = "1-2"', "x.toml:4: bars belongs to a score"),
    ('score = "a.mid"', "x.toml:3: rhythm comes from the score"),
    ("title", "x.toml:4: this is not TOML"),
    ("title = ", "x.toml:4: this is not TOML"),
    ('title = "a"\ntitle = "b"', "x.toml:5: this is not TOML: Cannot overwrite a value"),
    ("entry = 3", "x.toml:4: entry must be a table, written [entry]"),
    ("entry = [3]", "x.toml:4: entry must be a table, written [[entry]]"),
    ("[[entry]]\nbar = 1", "x.toml: an entry wants its bar and its count"),
    ("[[entry]]\ncount = '1'", "x.toml: an entry wants its bar and its count"),
    ("[[entry]]\nbar = 9\ncount = '1'", "x.toml: an entry is asked for in bar 9"),
    ("[[entry]]\nbar = -1\ncount = '1'", "x.toml: bar must be a whole number from 0"),
    ("[[entry]]\nbar = 1.5\ncount = '1'", "x.toml: bar must be a whole number, got '1.5'"),
    ("[[entry]]\nbar = true\ncount = '1'", "x.toml: bar must be a whole number, got 'True'"),
    ("[[entry]]\nbar = 1\ncount = '3'", "x.toml, bar 1: beat 3 is named, but 2/4 has two beats"),
    ("[[entry]]\nbar = 1\ncount = '1&'", "x.toml: an entry is asked for on 1& of bar 1, but no"),
    ("[[entry]]\nbar = 1\ncount = '1'\nprepare = 0", "x.toml: prepare is a number of beats"),
    ("[[entry]]\nbar = 1\ncount = '1'\nprepare = inf", "x.toml: prepare must be an ordinary number"),
    ("[[entry]]\nbar = 1\ncount = '1'\nsay = 'go'", "x.toml: say is one of ready, breathe, bow"),
    ("[[entry]]\nbar = 1\ncount = '1'\nword = 'bow'", "x.toml: entry has no key 'word'"),
    ("[accompaniment]\nmeet = [1]", "x.toml: an accompaniment wants a recording or notes"),
    ("[accompaniment]\nnotes = 'a.mid'\nbeats = 'b'", "x.toml: beats belong to a recording"),
    ("[accompaniment]\nnotes = 'a.mid'\nmeet = [7]", "x.toml: a place to meet is asked for in bar 7"),
    ("[accompaniment]\nnotes = 'a.mid'\nmeet = 7", "x.toml: meet must be a list of whole numbers"),
    ("[accompaniment]\nnotes = 'a.mid'\nmeet = ['1']", "x.toml: meet must be a whole number"),
    ("[[accompaniment]]\nnotes = 'a.mid'", "x.toml: accompaniment must be a table"),
    ("[model]\nbeats = 'b'", "x.toml: a model wants a recording"),
]  # fmt: skip


@pytest.mark.parametrize(("added", "message"), ADDED)
def test_a_wrong_key_or_value_is_named_with_its_remedy(added: str, message: str) -> None:
    """Nobody should have to guess which line the tool stumbled over."""
    with pytest.raises(DrillError) as caught:
        read_drill(HEAD + added, name="x.toml")
    assert str(caught.value).startswith(message)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("tempo = 60", "tempo = 0", "x.toml:2: tempo must be more than 0 beats a minute, got 0"),
        ("tempo = 60", "tempo = -5", "x.toml:2: tempo must be more than 0 beats a minute, got -5"),
        ("tempo = 60", "tempo = nan", "x.toml:2: tempo must be an ordinary number, got nan"),
        ("tempo = 60", "tempo = inf", "x.toml:2: tempo must be an ordinary number, got inf"),
        ("tempo = 60", 'tempo = "fast"', "x.toml:2: tempo must be a number, got 'fast'"),
        ("tempo = 60", "tempo = true", "x.toml:2: tempo must be a number, got 'True'"),
        ("tempo = 60", "tempo = 4000", "x.toml:2: tempo must be 5 to 1000"),
        ("tempo = 60", f"tempo = 1{'0' * 400}", "x.toml:2: tempo is too large a number"),
        ("tempo = 60", f"tempo = 1{'0' * 5000}", "x.toml: this is not TOML"),
        ("tempo = 60\n", "", "x.toml: a drill wants a tempo in beats a minute, like tempo = 72"),
        ('metre = "2/4"', 'metre = "0/4"', "x.toml:1: metre 0/4: the upper number must be 1 to 64"),
        ('metre = "2/4"', 'metre = "2/5"', "x.toml:1: metre 2/5: the lower number must be one of"),
        ('metre = "2/4"', 'metre = "waltz"', "x.toml:1: 'waltz' is not a metre"),
        ('metre = "2/4"', "metre = 2.4", "x.toml:1: metre must be text between quotation marks"),
        ('metre = "2/4"\n', "", 'x.toml: a drill wants a metre, like metre = "2/4"'),
        ('rhythm = "1 2 & | rest 2 | 1 2"', "", "x.toml: a drill wants a rhythm"),
        ('rhythm = "1 2 & | rest 2 | 1 2"', "rhythm = 12", "x.toml:3: rhythm must be text"),
        ('rhythm = "1 2 & | rest 2 | 1 2"', 'rhythm = ""', "x.toml:3: the rhythm is empty"),
    ],
)
def test_tempo_metre_and_rhythm_are_checked(old: str, new: str, message: str) -> None:
    """The three things every drill has, and the ways they go wrong."""
    assert old in HEAD
    with pytest.raises(DrillError) as caught:
        read_drill(HEAD.replace(old, new), name="x.toml")
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    "path",
    [
        "../x.flac",
        "a/../../x",
        "/etc/x",
        "C:x.flac",
        "c:/x",
        r"a\b",
        "~/x",
        "",
        "a/",
        "a\u0000b",
        "..",
    ],
)
def test_a_path_that_leaves_the_drills_folder_is_refused(path: str) -> None:
    """A drill from somebody else must not reach into one's own files."""
    escaped = path.replace("\\", "\\\\").replace("\u0000", "\\u0000")
    with pytest.raises(DrillError, match="a drill's files stand in its own folder"):
        read_drill(f'{HEAD}[model]\nrecording = "{escaped}"', name="x.toml")
    with pytest.raises(DrillError, match="a drill's files stand in its own folder"):
        read_drill(f'score = "{escaped}"', name="x.toml")


@pytest.mark.parametrize(
    ("bars", "words"),
    [
        ('"24-17"', "run backwards"),
        ('"a-b"', "bars are written like"),
        ('"-3"', "bars are written like"),
        ('"1-2-3"', "bars are written like"),
        ('"123456"', "bars are written like"),
        ("-1", "bars must be a whole number"),
    ],
)
def test_bars_of_a_score_are_checked(bars: str, words: str) -> None:
    """Which bars to practise is typed by hand."""
    with pytest.raises(DrillError, match=words):
        read_drill(f'score = "a.mid"\nbars = {bars}', name="x.toml")


def test_a_file_too_large_or_too_deep_is_refused() -> None:
    """Memory and patience stay bounded for any file."""
    with pytest.raises(DrillError, match="may hold 1 MB at most"):
        read_drill("#" * 1_000_001, name="x.toml")
    with pytest.raises(DrillError, match=r"^x\.toml:2: this is no key of a drill"):
        read_drill("tempo = 60\n" + ".".join("a" * 400_000) + " = 1", name="x.toml")
    with pytest.raises(DrillError, match="nested too deeply"):
        read_drill("a = " + "[" * 100_000, name="x.toml")


@settings(deadline=None)
@given(st.text(max_size=80))
def test_any_text_is_a_drill_or_a_sentence(text: str) -> None:
    """Whatever file is named, there is no traceback."""
    with pytest.raises(DrillError):
        read_drill(text, name="x.toml")


@settings(deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(
            ("title", "metre", "tempo", "rhythm", "cue", "tune", "beat", "score", "bars")
        ),
        st.sampled_from(("1", "-1", "nan", "true", "[]", "{}", '""', '"1 2"', '"2/4"', "1e400")),
        min_size=1,
    )
)
def test_any_mixture_of_keys_and_values_is_a_drill_or_a_sentence(values: dict[str, str]) -> None:
    """Wrong kinds of values in any combination are told, not raised as something else."""
    text = "\n".join(f"{key} = {value}" for key, value in values.items())
    try:
        drill = read_drill(text, name="x.toml")
    except DrillError:
        return
    assert (drill.passage is None) == (drill.score is not None)
