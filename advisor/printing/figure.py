"""How a figure is written on a form."""


def figure(value: float, decimals: int = 4) -> str:
    """Return a figure with at most so many decimals and no empty ones.

    Examples
    --------
    >>> figure(12345.6), figure(2.0), figure(0.12345), figure(-0.00001)
    ('12345.6', '2', '0.1235', '0')
    """
    told = f"{value:.{decimals}f}"
    shown = told.rstrip("0").rstrip(".") if "." in told else told
    return "0" if shown == "-0" else shown
