"""Written music out and in: the only folder that imports music21 or verovio."""
