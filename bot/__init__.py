"""Riserbell: a choir class's companion in the chat.

Reading order is import order: errors, wording, music, notation, media, activities, privacy, store,
service, chat, settings, app, cli. A folder imports only what stands before it.
"""

__version__ = "0.1.0"
