"""Refit the composer's numbers from the folk tunes that the music21 package installs."""
