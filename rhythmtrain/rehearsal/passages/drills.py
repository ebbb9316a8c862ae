"""The supplied drills, listed in order of difficulty."""

from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.lines import hanging
from rhythmtrain.storage.drills import shipped_drills


def list_drills() -> Told:
    """Return the supplied drills, each with a line on what it trains."""
    drills = shipped_drills()
    width = max(len(drill.name) for drill in drills)
    lines = [hanging(drill.name, drill.about, indent=width + 2) for drill in drills]
    text = "\n".join([*lines, "", f"See one: rhythmtrain show {drills[0].name}"])
    document = {
        "drills": [
            {"name": drill.name, "title": drill.title, "about": drill.about, "level": drill.level}
            for drill in drills
        ]
    }
    return Told(text, document)
