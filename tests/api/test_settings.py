"""Settings come from where they are read and change nothing else."""

import pytest

from api.settings import LOOPBACK, Settings


def test_an_empty_environment_is_the_default() -> None:
    assert Settings.read({}) == Settings()
    assert Settings.read({"DOUGH_HOSTS": " , ", "DOUGH_IN_FLIGHT": " "}) == Settings()


def test_what_is_set_is_read() -> None:
    read = Settings.read(
        {
            "DOUGH_HOSTS": "bench.local, dough.example",
            "DOUGH_ORIGINS": "https://shop.example/",
            "DOUGH_IN_FLIGHT": "32",
            "DOUGH_BODY_BYTES": "65536",
        }
    )
    assert read.hosts == (*LOOPBACK, "bench.local", "dough.example")
    assert read.origins == ("https://shop.example",)
    assert (read.in_flight_at_most, read.body_bytes_at_most) == (32, 65536)


@pytest.mark.parametrize("written", ["0", "-1", "many", "1.5", "²"])
def test_a_wrong_number_is_named(written: str) -> None:
    with pytest.raises(ValueError, match="DOUGH_IN_FLIGHT"):
        Settings.read({"DOUGH_IN_FLIGHT": written})
