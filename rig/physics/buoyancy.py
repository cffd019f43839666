"""Air carries a little of everything that is weighed: water reads lighter than it is."""

from typing import Final

from rig.physics.water import water_density

# Scales are adjusted with weights of 8 g/ml in air of 1.2 mg/ml, whatever they weigh later:
# the conventional mass of OIML D 28.
WEIGHTS_G_ML: Final = 8.0
AIR_G_ML: Final = 0.0012


def reads_as_part(density_g_ml: float) -> float:
    """Return what a scale shows of a body, as a part of its mass.

    Args:
        density_g_ml: of the body, above that of air [g/ml].

    Source:
        Archimedes, in air: (1 - air / body) / (1 - air / weights); OIML D 28:2004.
    """
    return (1 - AIR_G_ML / density_g_ml) / (1 - AIR_G_ML / WEIGHTS_G_ML)


def water_reads_g(volume_ml: float, water_c: float) -> float:
    """Return what a scale shows of so much fresh water [g].

    Args:
        volume_ml: [ml].
        water_c: 0 to 40 inclusive [deg C].

    Raises:
        OutOfRange: as `water_density`.
    """
    density = water_density(water_c)
    return volume_ml * density * reads_as_part(density)
