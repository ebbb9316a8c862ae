"""What a person asks for in a session: options as typed, held together and against each other."""

from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from rhythmtrain.coach.settings import Order
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.live.rigs import TapsFrom, taps_from
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.rehearsal.practising.instruments import Instrument, instrument_named
from rhythmtrain.remedies import option
from rhythmtrain.report.take.commands import as_options, go_on

SHORTEST, LONGEST = 1.0, 120.0
TIME_IS_UP = "The {minutes:g} minutes are over."


@dataclass(frozen=True, slots=True)
class PractiseWish(Wish):
    """What is to be practised in a session, and how it is heard."""

    instrument: str | None = None
    clap_only: bool = False
    minutes: float = 10.0
    order: str | None = None
    source: str = "keys"
    loudspeaker: str | None = None
    language: str = "en"
    voice: Path | None = None
    dry_run: bool = False
    kind: str = "claps"

    @property
    def typed_again(self) -> str:
        """Return the command that goes on with the same session."""
        wishes = {
            "bars": self.bars,
            "instrument": self.instrument,
            "from": self.source if self.source != "keys" else None,
            "loudspeaker": self.loudspeaker,
            "order": self.order,
            "clap-only": self.clap_only,
        }
        return go_on(self.passage, self.options + as_options(wishes))


@dataclass(frozen=True, slots=True)
class Means:
    """What listens, and the instrument that is played (None: all of it is clapped)."""

    taps: TapsFrom
    instrument: Instrument | None

    @property
    def instrument_heard(self) -> bool:
        """Return whether the instrument can be heard with what listens."""
        return self.instrument is not None and self.instrument.heard_by(self.taps.kind)


def means_of(wish: PractiseWish) -> Means:
    """Return what listens and what is played, once all options are known to go together.

    Raises:
        RequestError: options that do not.
    """
    if wish.clap_only and wish.instrument is not None:
        raise RequestError(f"give {option('instrument')} or {option('clap-only')}, not both")
    if not (isfinite(wish.minutes) and SHORTEST <= wish.minutes <= LONGEST):
        raise RequestError(
            f"minutes must be {SHORTEST:g} to {LONGEST:g}, got {wish.minutes:g}: ten on many days "
            "do more than an hour on one"
        )
    if wish.order is not None and wish.order not in list(Order):
        raise RequestError(f"order must be {', '.join(Order)}, got {wish.order!r}")
    taps = taps_from(wish.source)
    instrument = None if wish.instrument is None else instrument_named(wish.instrument)
    return Means(taps, instrument)
