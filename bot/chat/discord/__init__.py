"""The adapter for Discord: discord.py as it is, with the least that it may ask for."""
