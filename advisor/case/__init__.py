"""A recipe with all that is known about it: its checks, solution, reasons, advice and refusal."""
