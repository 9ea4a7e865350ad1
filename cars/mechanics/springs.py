"""What a coil spring's wire says about its rate, and springs in a row. mm, N/mm, N/mm2."""

from cars.mechanics.errors import BadInput, positive

# Shear modulus of spring steel, N/mm2; handbook value, from memory.
STEEL = 79_300.0


def coil_rate(
    wire: float, mean_diameter: float, active_coils: float, shear: float = STEEL
) -> float:
    """Rate of a helical compression spring of round wire, N/mm.

    k = d^4 G / (8 D^3 N): d the wire, D the mean coil diameter (mm), N the active coils, G the
    shear modulus (N/mm2). Torsion alone, linear. Source: Shigley, Mechanical Engineering Design,
    10th ed., eq. 10-9 and example 10-1. Raises BadInput for a figure that is not positive or a
    wire as thick as its coil.
    """
    d, big_d = positive("wire", wire), positive("mean_diameter", mean_diameter)
    if d >= big_d:
        raise BadInput("wire", f"{d:g} mm cannot be wound to a mean diameter of {big_d:g} mm")
    coils = positive("active_coils", active_coils)
    return d**4 * positive("shear", shear) / (8.0 * big_d**3 * coils)


def in_series(*rates: float) -> float:
    """Rate of springs on top of one another, as a spring on its tyre: 1/k = sum 1/k_i, N/mm.

    Source: statics; each carries the same load. Raises BadInput for none, or one not positive.
    """
    if not rates:
        raise BadInput("rates", "at least one spring is needed")
    return 1.0 / sum(1.0 / positive("rate", rate) for rate in rates)
