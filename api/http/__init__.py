"""What HTTP asks of every call: how it is read, answered and refused, whatever it is about."""
