"""An entry course on paper: the tries of a player who does well, one for each step of help.

Files cannot follow how it went, so help thins by one step from each track to the next; the lead-in
varies by the same rules as when somebody listens, and the last, without help, is from the top.
"""

from rhythmtrain.coach.entry_course import Chance, Course, Tried, Try, next_try


def entry_tracks(course: Course, chance: Chance) -> tuple[Try, ...]:
    """Return one try for each step of help of ``course``, most help first."""
    done: list[Tried] = []
    for _ in range(course.steps):
        coming = next_try(course, done, chance)
        if coming is None:
            break
        done.append(Tried(coming, good=True))
    return tuple(each.tried for each in done)
