"""Chamber volume against the depth taken off the head face.

Three models, from the least to the best evidence:

* ``FaceAreaModel``: one volume and the area the chamber opens with at the face, its walls straight
  or drawn in at a steady rate;
* ``TwoPourModel``: volumes poured at two depths, a straight line between them;
* ``CurveModel``: volumes at three or more depths, joined by a monotone cubic.

"Cut" is the depth removed from the joint face from the state the model's zero refers to [m].
Each model offers

* ``volume_after(cut)`` and ``cut_for(volume)``, which refuse what cutting cannot do or the model
  does not cover, naming the limits;
* ``volume_unlimited(cut)`` and ``cut_unlimited(volume)``, the same curves carried on past those
  limits, a negative cut meaning metal to be added: for sampling and for saying by how much a
  target is missed;
* ``extrapolates(cut)``: whether a depth lies beyond what was measured.

``cut_target`` finds the cut a compression ratio needs and its standard uncertainty.

Cutting the face also sinks the valve seats nearer the joint, thins the face, moves the rocker
shaft down and, on a V engine, the manifold faces: those are judged elsewhere.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from headwright.errors import InputError, QuantityError
from headwright.geometry.monotone import MonotoneCubic
from headwright.geometry.scalar import (
    best_estimate,
    highest,
    lowest,
    require,
    require_finite,
    require_not_negative,
    require_positive,
)

__all__ = [
    "ROUND_OFF",
    "ChamberCutModel",
    "CurveModel",
    "FaceAreaModel",
    "TwoPourModel",
]


ROUND_OFF = 1e-9
"""Share by which a figure may pass a limit before it is refused; far below any measurement."""


class ChamberCutModel(ABC):
    """A chamber's volume as a falling function of the depth cut from the face."""

    @abstractmethod
    def volume_unlimited(self, cut: Any) -> Any:
        """Chamber volume [m^3] at a depth of cut [m], carried on past the model's limits."""

    @abstractmethod
    def cut_unlimited(self, volume: Any) -> Any:
        """Depth of cut [m] that leaves a volume [m^3], negative where metal must be added."""

    @property
    @abstractmethod
    def deepest_cut(self) -> float:
        """Largest depth of cut for which the model may be used [m]."""

    @abstractmethod
    def extrapolates(self, cut: float) -> bool:
        """Whether a depth of cut [m] lies beyond what was measured."""

    @abstractmethod
    def measurements(self) -> dict[str, float]:
        """The figures the model rests on, by name, as ``cut_target`` takes their uncertainty."""

    @abstractmethod
    def with_measurements(self, **measurements: float) -> ChamberCutModel:
        """The same model resting on other figures."""

    @property
    def present_volume(self) -> float:
        """Chamber volume before cutting [m^3]."""
        return float(self.volume_unlimited(0.0))

    @property
    def smallest_volume(self) -> float:
        """Chamber volume at the deepest cut the model covers [m^3]."""
        return float(self.volume_unlimited(self.deepest_cut))

    def volume_after(self, cut: float) -> float:
        """Chamber volume left by a cut.

        Args:
            cut: depth removed from the face [m], 0 to ``deepest_cut``.

        Returns:
            Volume [m^3].

        Raises:
            QuantityError: the cut is outside that range.
        """
        require_not_negative("cut", cut, "m", "Metal can only be removed.")
        if cut > self.deepest_cut * (1.0 + ROUND_OFF):
            raise QuantityError(
                "cut",
                f"{cut:.6g}",
                f"is {cut:.6g} m; must be at most {self.deepest_cut:.6g} m, as far as the volume "
                "is known. Pour the chamber at a greater depth to go further",
            )
        return float(self.volume_unlimited(cut))

    def cut_for(self, volume: float) -> float:
        """Depth of cut that leaves a chamber volume.

        Args:
            volume: wanted [m^3], ``smallest_volume`` to ``present_volume``.

        Returns:
            Depth to remove from the face [m]; 0 for the present volume.

        Raises:
            QuantityError: the volume is larger than now, or smaller than the model covers; the
                message names the limit.
        """
        require_positive("volume", volume, "m3")
        present, smallest = self.present_volume, self.smallest_volume
        if volume > present * (1.0 + ROUND_OFF):
            raise QuantityError(
                "volume",
                f"{volume:.6g}",
                f"is {volume:.6g} m3; the chamber holds only {present:.6g} m3 uncut, and cutting "
                "the face cannot enlarge it. Open the chamber out, or use a thicker gasket",
            )
        if volume < smallest * (1.0 - ROUND_OFF):
            raise QuantityError(
                "volume",
                f"{volume:.6g}",
                f"is {volume:.6g} m3; the deepest cut covered, {self.deepest_cut:.6g} m, leaves "
                f"{smallest:.6g} m3. Pour the chamber at a greater depth to go further, or find "
                "the volume in gasket, deck or piston",
            )
        return float(min(max(self.cut_unlimited(volume), 0.0), self.deepest_cut))


@dataclass(frozen=True)
class FaceAreaModel(ChamberCutModel):
    """Chamber with straight or steadily drawn-in walls near the face.

    A(z) = A0 - k z and V(z) = V0 - A0 z + k z^2 / 2, z the depth cut. For walls that lean inwards
    by a draft angle d all round, k is perimeter times tan d.

    Args:
        volume: chamber volume before cutting [m^3].
        face_area: area the chamber opens with at the face [m^2].
        area_taper: area lost for each metre of depth, k [m^2/m]; 0 for straight walls.
        wall_depth: how far the walls keep that shape [m]; none given, no further than a third of
            the mean depth V0/A0 (our own caution, no source).

    Raises:
        QuantityError: a figure out of range, or the area used up within the wall depth.

    >>> chamber = FaceAreaModel(volume=36e-6, face_area=4.0e-3, wall_depth=0.003)
    >>> print(f"{1e3 * chamber.cut_for(32e-6):.2f} mm")
    1.00 mm
    """

    volume: float
    face_area: float
    area_taper: float = 0.0
    wall_depth: float | None = None

    def __post_init__(self) -> None:
        require_positive("volume", self.volume, "m3")
        require_positive("face_area", self.face_area, "m2")
        require_finite("area_taper", self.area_taper, "m2/m")
        if self.wall_depth is not None:
            require_positive("wall_depth", self.wall_depth, "m")
        deepest = self.deepest_cut
        area_left = best_estimate(self.face_area - self.area_taper * deepest) > 0.0
        volume_left = best_estimate(self.volume_unlimited(deepest)) > 0.0
        if area_left is True and volume_left is True:
            return
        require(
            area_left,
            "area_taper",
            self.area_taper,
            "m2/m",
            f"less than {lowest(self.face_area / deepest):.6g} m2/m, where no area is left at the "
            f"depth of the walls, {highest(deepest):.6g} m",
            "Or the walls keep their shape less far.",
        )
        require(
            volume_left,
            "wall_depth",
            deepest,
            "m",
            "less: a cut that deep would remove more than the whole volume of "
            f"{lowest(self.volume):.6g} m3",
            "Check volume, area and depth against each other.",
        )

    @classmethod
    def from_outline_and_depth(
        cls, outline_area: float, depth: float, volume: float
    ) -> FaceAreaModel:
        """Make one from the outline at the face, the chamber's depth and its poured volume.

        The taper is chosen so that the area, falling steadily over the depth, encloses the volume:
        k = 2 (A0 h - V) / h^2. Cuts are covered over the upper third of the depth (our own caution,
        no source).

        Args:
            outline_area: of the chamber at the face [m^2].
            depth: from the face to the deepest part of the roof [m].
            volume: poured [m^3].

        Raises:
            QuantityError: a figure is not positive, or the volume does not go with area and depth.
        """
        require_positive("outline_area", outline_area, "m2")
        require_positive("depth", depth, "m")
        require_positive("volume", volume, "m3")
        box = outline_area * depth
        if not 0.3 * box <= volume <= 1.1 * box:
            raise QuantityError(
                "volume",
                f"{volume:.6g}",
                f"is {volume:.6g} m3; must be between {0.3 * box:.6g} and {1.1 * box:.6g} m3 "
                "(0.3 to 1.1 of outline area times depth). "
                "Check the three against each other",
            )
        taper = 2.0 * (box - volume) / depth**2
        return cls(volume, outline_area, taper, depth / 3.0)

    @classmethod
    def from_draft(
        cls,
        volume: float,
        face_area: float,
        perimeter: float,
        draft_angle: float,
        wall_depth: float | None = None,
    ) -> FaceAreaModel:
        """Make one from the draft of the walls.

        Args:
            volume: before cutting [m^3].
            face_area: at the face [m^2].
            perimeter: of the outline at the face [m].
            draft_angle: by which the walls lean in from the perpendicular to the face [rad].
            wall_depth: how far they do [m].
        """
        require_positive("perimeter", perimeter, "m")
        if not abs(draft_angle) < 1.4:
            raise QuantityError(
                "draft_angle",
                f"{draft_angle:.6g}",
                f"is {draft_angle:.6g} rad; must be between -1.4 and 1.4 rad",
            )
        return cls(volume, face_area, perimeter * float(np.tan(draft_angle)), wall_depth)

    @property
    def deepest_cut(self) -> float:
        """Depth to which the walls keep their shape [m]."""
        return self.volume / self.face_area / 3.0 if self.wall_depth is None else self.wall_depth

    def volume_unlimited(self, cut: Any) -> Any:
        """Chamber volume [m^3] at a depth of cut [m]."""
        return self.volume - self.face_area * cut + self.area_taper * cut**2 / 2.0

    def cut_unlimited(self, volume: Any) -> Any:
        """Depth of cut [m] for a volume [m^3]; the root of the quadratic nearest the face."""
        removed = self.volume - volume
        root = self.face_area**2 - 2.0 * self.area_taper * removed
        if not bool(np.all(best_estimate(root) >= 0.0)):
            msg = (
                f"volume: {lowest(volume):.6g} m3 is less "
                "than these tapering walls leave at any depth"
            )
            raise InputError(msg)
        return 2.0 * removed / (self.face_area + root**0.5)

    def extrapolates(self, cut: float) -> bool:
        """Whether the cut [m] lies outside the depth of the walls."""
        return not 0.0 <= cut <= self.deepest_cut

    def measurements(self) -> dict[str, float]:
        """Volume, face area and taper."""
        return {
            "volume": self.volume,
            "face_area": self.face_area,
            "area_taper": self.area_taper,
        }

    def with_measurements(self, **measurements: float) -> FaceAreaModel:
        """The same walls with other figures."""
        return replace(self, **measurements)


@dataclass(frozen=True)
class TwoPourModel(ChamberCutModel):
    """Straight line through volumes poured at two depths.

    V(z) = V1 - (V1 - V2) (z - z1) / (z2 - z1). The slope is the mean opening area between the two
    depths. A pour "at a depth" needs no metal cut: a plate let into the chamber to that depth, a
    gauge, or a level of fluid known below the face serves.

    Beyond the deeper pour the line is carried on by no more than the distance between the pours,
    and ``extrapolates`` says so; the volume there is a guess unless the walls are straight.

    Args:
        first_cut: depth of the first pour [m], 0 for the face as it is.
        first_volume: chamber volume there [m^3].
        second_cut: depth of the second pour [m], greater.
        second_volume: chamber volume there [m^3], smaller.

    Raises:
        QuantityError: depths or volumes in the wrong order, or out of range.

    >>> chamber = TwoPourModel(0.0, 36.0e-6, 0.002, 28.0e-6)
    >>> print(f"{1e6 * chamber.volume_after(0.0005):.1f} cc, {chamber.extrapolates(0.0025)}")
    34.0 cc, True
    """

    first_cut: float
    first_volume: float
    second_cut: float
    second_volume: float

    def __post_init__(self) -> None:
        require_not_negative("first_cut", self.first_cut, "m")
        require_positive("first_volume", self.first_volume, "m3")
        require_finite("second_cut", self.second_cut, "m")
        require_positive("second_volume", self.second_volume, "m3")
        require(
            best_estimate(self.second_cut) > best_estimate(self.first_cut),
            "second_cut",
            self.second_cut,
            "m",
            f"greater than first_cut, {lowest(self.first_cut):.6g} m",
        )
        require(
            best_estimate(self.second_volume) < best_estimate(self.first_volume),
            "second_volume",
            self.second_volume,
            "m3",
            f"less than first_volume, {lowest(self.first_volume):.6g} m3",
            "A deeper cut leaves less: check which pour is which.",
        )

    @property
    def opening_area(self) -> float:
        """Mean area of the chamber's opening between the two depths [m^2]."""
        return (self.first_volume - self.second_volume) / (self.second_cut - self.first_cut)

    @property
    def deepest_cut(self) -> float:
        """The second depth and as much again, but not to where the volume would vanish [m]."""
        span = self.second_cut - self.first_cut
        depth_left = self.second_volume / self.opening_area
        return min(self.second_cut + span, self.second_cut + 0.9 * depth_left)

    def volume_unlimited(self, cut: Any) -> Any:
        """Chamber volume [m^3] on the line at a depth of cut [m]."""
        return self.first_volume - self.opening_area * (cut - self.first_cut)

    def cut_unlimited(self, volume: Any) -> Any:
        """Depth of cut [m] on the line for a volume [m^3]."""
        return self.first_cut + (self.first_volume - volume) / self.opening_area

    def extrapolates(self, cut: float) -> bool:
        """Whether the cut [m] lies outside the two pours."""
        return not self.first_cut <= cut <= self.second_cut

    def measurements(self) -> dict[str, float]:
        """The two depths and the two volumes."""
        return asdict(self)

    def with_measurements(self, **measurements: float) -> TwoPourModel:
        """The same pours with other figures."""
        return replace(self, **measurements)


@dataclass(frozen=True)
class CurveModel(ChamberCutModel):
    """Monotone cubic through volumes poured at three or more depths.

    Covers cuts down to the last depth poured and no further. Before the first depth, and past the
    last one in the unlimited forms, it goes on straight, and ``extrapolates`` says so.

    Args:
        cuts: depths [m], rising, the first 0 or more.
        volumes: chamber volumes there [m^3], falling.

    Raises:
        InputError: fewer than three depths, or lists of different lengths.
        QuantityError: depths that do not rise, volumes that do not fall, or figures out of range.

    >>> chamber = CurveModel((0.0, 0.001, 0.003), (36e-6, 32e-6, 25e-6))
    >>> print(f"{1e3 * chamber.cut_for(32e-6):.3f} mm")
    1.000 mm
    """

    cuts: Sequence[float]
    volumes: Sequence[float]

    def __post_init__(self) -> None:
        object.__setattr__(self, "cuts", tuple(self.cuts))
        object.__setattr__(self, "volumes", tuple(self.volumes))
        if len(self.cuts) != len(self.volumes):
            msg = (
                f"volumes: {len(self.volumes)} given for {len(self.cuts)} cuts; give one volume "
                "for each depth"
            )
            raise InputError(msg)
        if len(self.cuts) < 3:
            msg = f"cuts: {len(self.cuts)} given; a curve needs 3 or more (else use two pours)"
            raise InputError(msg)
        for index, (cut, volume) in enumerate(zip(self.cuts, self.volumes, strict=True)):
            require_not_negative(f"cuts[{index}]", cut, "m")
            require_positive(f"volumes[{index}]", volume, "m3")
            if index and not cut > self.cuts[index - 1]:
                raise QuantityError(
                    f"cuts[{index}]",
                    f"{cut:.6g}",
                    f"is {cut:.6g} m; must be greater than the one before, "
                    f"{self.cuts[index - 1]:.6g} m",
                )
            if index and not volume < self.volumes[index - 1]:
                raise QuantityError(
                    f"volumes[{index}]",
                    f"{volume:.6g}",
                    f"is {volume:.6g} m3; must be less than the one before, "
                    f"{self.volumes[index - 1]:.6g} m3: a deeper cut leaves less. Pour it again",
                )

    @cached_property
    def _curve(self) -> MonotoneCubic:
        return MonotoneCubic(self.cuts, self.volumes)

    @property
    def deepest_cut(self) -> float:
        """The last depth poured [m]."""
        return self.cuts[-1]

    def volume_unlimited(self, cut: Any) -> Any:
        """Chamber volume [m^3] on the curve at a depth of cut [m]."""
        return self._curve.value_at(cut)

    def cut_unlimited(self, volume: Any) -> Any:
        """Depth of cut [m] on the curve for a volume [m^3]."""
        return self._curve.position_of(volume)

    def extrapolates(self, cut: float) -> bool:
        """Whether the cut [m] lies outside the depths poured."""
        return not self.cuts[0] <= cut <= self.cuts[-1]

    def measurements(self) -> dict[str, float]:
        """Depths ``cut_0 ...`` and volumes ``volume_0 ...``."""
        return {f"cut_{index}": cut for index, cut in enumerate(self.cuts)} | {
            f"volume_{index}": volume for index, volume in enumerate(self.volumes)
        }

    def with_measurements(self, **measurements: float) -> CurveModel:
        """The same curve through other figures."""
        now = self.measurements() | measurements
        count = len(self.cuts)
        return CurveModel(
            tuple(now[f"cut_{index}"] for index in range(count)),
            tuple(now[f"volume_{index}"] for index in range(count)),
        )
