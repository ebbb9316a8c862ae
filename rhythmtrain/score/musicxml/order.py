"""In which order the bars of a score are played: repeats, endings, and jumps to a sign.

A repeat goes back to where it was opened, to the bar after the last one closed, or to the beginning.
Endings say at which time they are played; without them a repeat is played as often as its ``times`` says, or
twice.  *Da capo* and *dal segno* are obeyed once, when they are first reached; after the jump repeats
are not played again and the last ending is taken, ``fine`` ends the
piece and ``to coda`` leads to the coda.  This is common practice, and what MusicXML 4.0 takes as given.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from rhythmtrain.errors import FileError
from rhythmtrain.score.musicxml.measure import Measure
from rhythmtrain.score.passage import MOST_BARS

LAST_TIME = 1_000


@dataclass(slots=True)
class BarSigns:
    """What decides the order at one bar; ``endings`` are the times it is played, empty for always."""

    opens: bool = False
    closes: bool = False
    times: int = 0
    endings: tuple[int, ...] = ()
    jumps: frozenset[str] = frozenset()


@dataclass(slots=True)
class _Player:
    """Where a player is: the bar, where the repeat began, which time through, whether it jumped."""

    at: int = 0
    start: int = 0
    turn: int = 1
    jumped: bool = False
    played: list[int] = field(default_factory=list)

    def begin_repeat(self, at: int) -> None:
        """Begin a new stretch at bar ``at``, which a repeat may send back to."""
        self.start, self.turn = at, LAST_TIME if self.jumped else 1


def bar_signs(parts: Sequence[Sequence[Measure]]) -> tuple[BarSigns, ...]:
    """Return the signs of every bar; what any part says counts for all."""
    count = max(map(len, parts))
    signs = [BarSigns() for _ in range(count)]
    words = not any(measure.signs.jumps for part in parts for measure in part)
    for part in parts:
        for sign, measure in zip(signs, part, strict=False):
            here = measure.signs
            sign.opens = sign.opens or here.opens
            sign.closes = sign.closes or here.closes
            sign.times = max(sign.times, here.times)
            sign.jumps |= here.worded_jumps if words else here.jumps
    _spread_endings(parts, signs)
    if words:
        _first_coda_leads_away(signs)
    return tuple(signs)


def _spread_endings(parts: Sequence[Sequence[Measure]], signs: list[BarSigns]) -> None:
    """Give every bar under an ending's bracket the times at which it is played."""
    for part in parts:
        times: tuple[int, ...] = ()
        for sign, measure in zip(signs, part, strict=False):
            times = measure.signs.endings or (() if measure.signs.opens else times)
            sign.endings = sign.endings or times
            if measure.signs.ending_stops or measure.signs.closes:
                times = ()


def _first_coda_leads_away(signs: list[BarSigns]) -> None:
    """Read the first of two printed coda signs as where one leaves, the second as where one goes."""
    codas = [sign for sign in signs if "coda" in sign.jumps]
    if len(codas) > 1 and not any("tocoda" in sign.jumps for sign in signs):
        codas[0].jumps = codas[0].jumps - {"coda"} | {"tocoda"}


def order_played(signs: Sequence[BarSigns], *, name: str) -> tuple[int, ...]:
    """Return the indices of the bars in the order they are played.

    A second time without a first is played whenever it is come to.  Where the signs let no bar be
    played all are, one after the other.

    Raises:
        FileError: more bars than a passage has; ``name`` is the file's.
    """
    player = _Player()
    while player.at < len(signs):
        sign = signs[player.at]
        if sign.opens and player.at != player.start:
            player.begin_repeat(player.at)
        if not _has_this_time(signs, player):
            _leave_ending(signs, player)
            player.at += 1
            continue
        player.played.append(player.at)
        if len(player.played) > MOST_BARS:
            raise FileError(f"{name}: with its repeats it has more than {MOST_BARS} bars")
        if player.jumped and "fine" in sign.jumps:
            break
        player.at = _next(signs, player)
    return tuple(player.played) or tuple(range(len(signs)))


def _has_this_time(signs: Sequence[BarSigns], player: _Player) -> bool:
    """Return whether the bar where the player is is played at this time through."""
    endings = signs[player.at].endings
    if not endings:
        return True
    beside = _endings_beside(signs, player.at)
    if player.turn == LAST_TIME:
        return max(endings) == max(map(max, beside))
    only_later = player.turn == 1 and not any(1 in each for each in beside)
    return player.turn in endings or only_later


def _leave_ending(signs: Sequence[BarSigns], player: _Player) -> None:
    """Begin a new repeat after the last bar of the last ending of a repeat."""
    at = player.at
    if signs[at].endings and not (at + 1 < len(signs) and signs[at + 1].endings):
        player.begin_repeat(at + 1)


def _next(signs: Sequence[BarSigns], player: _Player) -> int:
    """Return which bar comes after the one just played."""
    at, sign = player.at, signs[player.at]
    if sign.closes:
        if _plays_again(signs, player):
            player.turn += 1
            return player.start
        player.begin_repeat(at + 1)
    _leave_ending(signs, player)
    target = _jump(signs, player)
    if target is not None and not player.jumped:
        player.jumped = True
        player.begin_repeat(target)
        return target
    if player.jumped and "tocoda" in sign.jumps:
        return _place(signs, "coda", after=at) or at + 1
    return at + 1


def _jump(signs: Sequence[BarSigns], player: _Player) -> int | None:
    """Return where the bar just played sends the player, if it does."""
    jumps = signs[player.at].jumps
    if "dacapo" in jumps:
        return 0
    return _place(signs, "segno") if "dalsegno" in jumps else None


def _plays_again(signs: Sequence[BarSigns], player: _Player) -> bool:
    """Return whether the repeat that closes where the player is sends back once more."""
    sign = signs[player.at]
    if player.turn >= LAST_TIME:
        return False
    if not sign.endings:
        return player.turn < (sign.times or 2)
    beside = _endings_beside(signs, player.at)
    return len(beside) == 1 or any(player.turn + 1 in endings for endings in beside)


def _endings_beside(signs: Sequence[BarSigns], at: int) -> set[tuple[int, ...]]:
    """Return the times of each ending in the row of endings that the bar ``at`` belongs to."""
    first, last = at, at
    while first > 0 and signs[first - 1].endings:
        first -= 1
    while last + 1 < len(signs) and signs[last + 1].endings:
        last += 1
    return {sign.endings for sign in signs[first : last + 1]}


def _place(signs: Sequence[BarSigns], jump: str, after: int = -1) -> int | None:
    """Return the first bar past ``after`` with the sign ``jump``, or None."""
    return next((at for at, sign in enumerate(signs) if at > after and jump in sign.jumps), None)


def comes_from(signs: Sequence[BarSigns]) -> dict[int, int]:
    """Return, for the first bar of each later ending, the bar before the row of endings."""
    found: dict[int, int] = {}
    before = -1
    for at, sign in enumerate(signs):
        if not sign.endings:
            before = at
        elif at and signs[at - 1].endings and signs[at - 1].endings != sign.endings and before >= 0:
            found[at] = before
    return found
