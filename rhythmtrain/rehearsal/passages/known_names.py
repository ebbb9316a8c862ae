"""The name under which takes of a passage are found together, however it was typed."""

from rhythmtrain.storage.drills import drill_path
from rhythmtrain.storage.places import drills_folder


def known_as(passage: str) -> str:
    """Return the name under which takes of a passage are found: a drill's name, or a full path."""
    path = drill_path(passage).resolve()
    return path.stem if path.parent == drills_folder().resolve() else str(path)
