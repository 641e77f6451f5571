"""Steps, sequences and levels: the door through which the rest of the program takes them."""

from __future__ import annotations

from bot.music.level import Level, level_of
from bot.music.sequence import Sequence, Step, Track
from bot.music.step_file import parse_sequence, parse_sequences

__all__ = ["Level", "Sequence", "Step", "Track", "level_of", "parse_sequence", "parse_sequences"]
