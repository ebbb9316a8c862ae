"""Large numbers for a screen of text: one table of digits, five rows high.

A digit is drawn of full blocks, each dot two columns wide, because a character is about twice as
high as it is wide.
"""

ROWS = 5
DOTS: dict[str, tuple[str, ...]] = {
    "0": (" ## ", "#  #", "#  #", "#  #", " ## "),
    "1": (" #  ", "##  ", " #  ", " #  ", "### "),
    "2": ("### ", "   #", " ## ", "#   ", "####"),
    "3": ("### ", "   #", " ## ", "   #", "### "),
    "4": ("#  #", "#  #", "####", "   #", "   #"),
    "5": ("####", "#   ", "### ", "   #", "### "),
    "6": (" ## ", "#   ", "### ", "#  #", " ## "),
    "7": ("####", "   #", "  # ", " #  ", " #  "),
    "8": (" ## ", "#  #", " ## ", "#  #", " ## "),
    "9": (" ## ", "#  #", " ###", "   #", " ## "),
}
BLOCK, GAP = "██", "  "


def large(number: int | None) -> tuple[str, ...]:
    """Return ``number`` as five rows of blocks; None is five empty rows."""
    if number is None:
        return ("",) * ROWS
    digits = [DOTS[digit] for digit in str(number)]
    return tuple(
        GAP.join("".join(BLOCK if dot == "#" else "  " for dot in digit[row]) for digit in digits)
        for row in range(ROWS)
    )
