"""What stands between the network and the resources: one guard a file, each an ASGI middleware."""
