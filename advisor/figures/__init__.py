"""The shapes of the rules files, a module each: every table strict, every figure with basis and source."""
