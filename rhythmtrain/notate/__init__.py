"""Writing down: from what was heard and marked to which beat falls when."""
