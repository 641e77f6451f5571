"""A local stand-in of Discord's API v10, for tests only.

It plays the gateway and the REST routes that the bot uses, with the rules that Discord documents
(rate-limit headers, nonces, deadlines of interactions, limits of sizes, ephemeral visibility) and
with faults on demand. `Discord` is the server, `Person` somebody who presses buttons and runs
commands, `library_at` points an unmodified discord.py at the server.
"""
