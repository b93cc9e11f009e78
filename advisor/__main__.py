"""Runs the command line with ``python -m advisor``."""

import sys

from advisor.cli.main import main

sys.exit(main())
