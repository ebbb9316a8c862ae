"""MusicXML written by hand, as short as it goes: one trap at a time."""

HEAD = '<?xml version="1.0" encoding="UTF-8"?>'


def note(pitch: str, duration: object, *more: str) -> str:
    """Return a note such as ``note("C#5", 2, "<dot/>")``; ``pitch`` "" is an unpitched one."""
    if not pitch:
        sound = "<unpitched/>"
    else:
        alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
        sound = f"<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave></pitch>"
    first = "".join(each for each in more if each in ("<chord/>", "<cue/>", "<grace/>"))
    rest = "".join(each for each in more if each not in ("<chord/>", "<cue/>", "<grace/>"))
    length = "" if duration is None else f"<duration>{duration}</duration>"
    return f"<note>{first}{sound}{length}{rest}</note>"


def rest(duration: object, *, whole: bool = False) -> str:
    """Return a rest; ``whole`` is a whole-bar rest."""
    sign = '<rest measure="yes"/>' if whole else "<rest/><!-- -->"
    return f"<note>{sign}<duration>{duration}</duration></note>"


def tie(*kinds: str) -> str:
    """Return ties: ``tie("stop", "start")``."""
    return "".join(f'<tie type="{kind}"/>' for kind in kinds)


def attributes(divisions: object = 1, time: str = "4/4", more: str = "") -> str:
    """Return what stands at the beginning of a part; ``time`` "" says no metre."""
    beats, _, unit = time.partition("/")
    metre = f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>" if time else ""
    return f"<attributes><divisions>{divisions}</divisions>{metre}{more}</attributes>"


def sounded(words: str) -> str:
    """Return a ``sound`` with the attributes ``words``, as a direction has it."""
    return f"<direction><direction-type/><sound {words}/></direction>"


def part_of(*bars: str, numbers: tuple[str, ...] = ()) -> str:
    """Return the bars of one part, numbered from 1 unless ``numbers`` say otherwise."""
    names = numbers or tuple(str(number) for number in range(1, len(bars) + 1))
    return "".join(
        f'<measure number="{name}">{bar}</measure>' for name, bar in zip(names, bars, strict=True)
    )


def score(*parts: str, names: tuple[str, ...] = (), head: str = HEAD) -> bytes:
    """Return a part-wise score of ``parts``, each made by ``part_of``."""
    listed = names or tuple(f"Player {number}" for number in range(1, len(parts) + 1))
    table = "".join(
        f'<score-part id="P{at}"><part-name>{name}</part-name></score-part>'
        for at, name in enumerate(listed)
    )
    music = "".join(f'<part id="P{at}">{part}</part>' for at, part in enumerate(parts))
    text = f"{head}<score-partwise><part-list>{table}</part-list>{music}</score-partwise>"
    return text.encode()
