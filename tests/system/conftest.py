"""The room over services in memory, for looking at it with a real browser."""

from tests.chat.conftest import content, open_room, room, services

__all__ = ["content", "open_room", "room", "services"]
