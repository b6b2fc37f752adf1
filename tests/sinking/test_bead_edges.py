"""A bead at its edges: usual sizes by hand, the doubt of a drilled sphere by its derivative, sizes that are none."""

import math

import pytest

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.sinking.weight.bead import (
    BeadSizes,
    Bore,
    Mouth,
    bead_volume,
    default_bores,
    trade_diameter,
    volume_of,
)

MM = 1e-3
WIDE = (Bore.COUNTERSUNK, Bore.REVERSED)


def exact(millimetres: float) -> Measured:
    return Measured(millimetres * MM, 0.0)


def in_mm(size: Measured | None) -> tuple[float, float] | None:
    return None if size is None else (size.value / MM, size.standard_uncertainty / MM)


@pytest.mark.parametrize("bore", Bore)
def test_the_usual_sizes_of_a_bead_of_three_millimetres(bore: Bore) -> None:
    """Common practice, no source; by hand: bore 0.35 + 0.22 x 3, mouth 1.01 + 0.32 x 1.99, 0.4 x 3 deep, slot as the bore."""
    sizes = default_bores(trade_diameter(3 * MM), bore)
    assert in_mm(sizes.diameter) == pytest.approx((3.0, 0.05))
    assert in_mm(sizes.bore_diameter) == pytest.approx((1.01, 0.1))
    mouth, depth, slot = (in_mm(one) for one in (sizes.mouth_diameter, sizes.mouth_depth, sizes.slot_width))
    assert mouth == (pytest.approx((1.6468, 0.199)) if bore in WIDE else None)
    assert depth == (pytest.approx((1.2, 0.3)) if bore in WIDE else None)
    assert slot == (pytest.approx((1.01, 0.15)) if bore is Bore.SLOTTED else None)
    judged = {Bore.STRAIGHT: 0.01, Bore.COUNTERSUNK: 0.02, Bore.REVERSED: 0.02, Bore.SLOTTED: 0.06}
    assert sizes.shape_doubt == judged[bore]
    assert sizes.mouth is Mouth.CONE


@pytest.mark.parametrize(("size", "taken"), [(1.49, False), (1.5, True), (8.0, True), (8.01, False)])
def test_usual_sizes_are_known_from_one_and_a_half_to_eight_millimetres(size: float, taken: bool) -> None:
    if taken:
        assert default_bores(exact(size), Bore.STRAIGHT).diameter.value == size * MM
        return
    with pytest.raises(BadValueError) as refused:
        default_bores(exact(size), Bore.STRAIGHT)
    assert str(refused.value) == (
        f"bead.diameter: the usual bore of a bead of {size} mm is not known. Give a bead of 1.5 to 8 mm, or measure its "
        "bore."
    )


def test_the_doubt_of_a_drilled_sphere_is_that_of_its_derivatives() -> None:
    """V = pi/6 h^3, h^2 = d^2 - b^2: dV/dd = pi/2 h d, dV/db = -pi/2 h b (JCGM 100:2008, 5.1.2); d = 5, b = 3, h = 4."""
    volume = volume_of(
        BeadSizes(Bore.STRAIGHT, Measured(5 * MM, 0.01 * MM), Measured(3 * MM, 0.02 * MM), shape_doubt=0.0)
    )
    assert volume.value / MM**3 == pytest.approx(math.pi / 6 * 64)
    doubt = math.pi / 2 * 4 * math.hypot(5 * 0.01, 3 * 0.02)
    assert volume.standard_uncertainty / MM**3 == pytest.approx(doubt, rel=1e-4)
    usual = volume_of(
        BeadSizes(Bore.STRAIGHT, exact(5), exact(3))
    )  # a hundredth for edges and paint (judgement)
    assert usual.standard_uncertainty == pytest.approx(0.01 * usual.value)


def test_sizes_below_nothing_are_refused() -> None:
    with pytest.raises(BadValueError) as refused:
        bead_volume(3 * MM, Bore.SLOTTED, 1 * MM, slot_width=-0.1 * MM)
    assert str(refused.value) == (
        "bead.slot_width: a slot of -0.1 mm does not fit in a bead of 3 mm. Give zero or more, less than the bead's "
        "diameter."
    )
    with pytest.raises(BadValueError) as refused:
        bead_volume(3 * MM, Bore.COUNTERSUNK, 1 * MM, 2 * MM, -0.1 * MM)
    assert str(refused.value) == (
        "bead.mouth_depth: a mouth -0.1 mm deep does not fit in the bead. Give 0 to 2.532 mm, from the rim inwards."
    )
