"""Keeps the threads of one process from holding each other up."""

import os


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
