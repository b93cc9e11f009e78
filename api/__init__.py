"""The web face of the advisor: JSON over HTTP and the page at the bench."""
