"""What stands between the network and the routes: one guard a file, each a plain ASGI middleware."""
