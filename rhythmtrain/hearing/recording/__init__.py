"""A recorded accompaniment: where its music lies, what sounds, where a beat may be."""
