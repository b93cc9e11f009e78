"""Keeps the threads of one process from holding each other up."""

import os
import sys

_SWITCHED_S = 0.0002


def switch_soon() -> None:
    """Let a thread that wakes up wait a fifth of a millisecond for each that computes, not the usual five.

    The loop of a server wakes up some ten times a request, and waits as often; a correction lets go of the
    interpreter at each call of its solver, and waits for it anew.

    Examples
    --------
    >>> switch_soon()
    >>> sys.getswitchinterval()
    0.0002
    """
    sys.setswitchinterval(_SWITCHED_S)


def use_one_thread() -> None:
    """Tell the libraries of linear algebra, before they load, to compute in the thread that asks.

    A second one only waits for the first, on a busy machine long. What the environment says goes first.

    Examples
    --------
    >>> use_one_thread()
    >>> os.environ["OMP_NUM_THREADS"] != ""
    True
    """
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
