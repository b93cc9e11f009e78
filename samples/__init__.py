"""Requests and answers in an invented scenario, used by README, tests and OpenAPI alike."""
