"""The room: a local web server with board, desk and stage."""
