"""How much help the next try gets: less after every good one, more after a bad one.

Help that is always there is leaned on; help that follows how it went is not (Winstein and Schmidt
1990 on fading feedback).  Help stands on numbered steps, 0 with all of it and the last with none.
It moves one step at a time, so whoever does better at every try never gets more of it.
"""


def next_help(step: int, *, good: bool, steps: int) -> int:
    """Return the step of help after a try on ``step`` that was good or not; there are ``steps``."""
    return min(step + 1, steps - 1) if good else max(step - 1, 0)
