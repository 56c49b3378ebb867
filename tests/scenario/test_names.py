"""Names that reading accepts are just those that the energy room can serve."""

from finsolar.energy import load, weather
from finsolar.scenario.names import SHAPES, STATIONS


def test_stations_are_those_of_the_energy_room() -> None:
    """Neither one too many nor one too few."""
    assert sorted(STATIONS) == sorted(weather.STATIONS)


def test_shapes_are_those_of_the_energy_room() -> None:
    """Neither one too many nor one too few."""
    assert sorted(SHAPES) == sorted(load.shape_names())
