"""Values and rules of the music itself: no I/O, no clock, no global randomness, no music21."""
