"""What a drill says of its accompaniment, changed in its text: everything else stays as it was written."""

import json
from collections.abc import Mapping

SECTION = "[accompaniment]"


def with_accompaniment(text: str, named: Mapping[str, str]) -> str:
    """Return the drill ``text`` with what is ``named``, a path for each key, under [accompaniment]."""
    before, found, after = text.partition(f"\n{SECTION}")
    kept = []
    if found:
        section, _, rest = after.partition("\n[")
        kept = [
            line
            for line in section.splitlines()[1:]
            if line.split("=")[0].strip() not in (*named, "")
        ]
        after = f"\n[{rest}" if rest else ""
    new = [f"{key} = {json.dumps(path, ensure_ascii=False)}" for key, path in named.items()]
    lines = ["", SECTION, *new, *kept]
    return before.rstrip() + "\n" + "\n".join(lines) + "\n" + (after if found else "")
