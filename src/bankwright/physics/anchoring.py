"""Seismic force on a rack and what its anchors must hold, by ASCE 7.

Gives: force_7_16(), bounded(), overturning(), resisting(), tension(), shear(). Any force unit that goes in comes out;
lengths in metres, SDS in g.
Limits: coefficients ap, Rp and Omega are tables (handbook/data/seismic_coefficients.toml), several of
them from memory; anchor capacity in concrete or wood is not computed: an engineer, or the anchor's own listing.
Sources: ASCE 7-16, 13.3.1; load combinations ASCE 7-16, 2.3.6 and 12.4.2 [from memory].
"""

from __future__ import annotations

__all__ = [
    "bounded",
    "force_7_16",
    "overturning",
    "resisting",
    "shear",
    "tension",
]


def force_7_16(
    weight: float, sds: float, ap: float, rp: float, importance: float = 1.0, *, height_ratio: float = 0.0
) -> float:
    """Fp before its bounds, ASCE 7-16. [N]

    Parameters
    ----------
    weight : Wp, operating weight. [N]
    sds : design spectral acceleration at short periods. [g]
    ap : amplification. [-]
    rp : response modification. [-]
    importance : Ip. [-]
    height_ratio : z/h, attachment over roof height; taken between 0 and 1. [-]

    References
    ----------
    ASCE 7-16, equation 13.3-1 (7-10 has the same).
    """
    ratio = min(max(height_ratio, 0.0), 1.0)
    return 0.4 * ap * sds * weight / (rp / importance) * (1 + 2 * ratio)


def bounded(force: float, weight: float, sds: float, importance: float = 1.0) -> float:
    """Fp within 0.3 and 1.6 SDS Ip Wp. [N]

    Parameters
    ----------
    force : Fp by 13.3-1. [N]
    weight : Wp. [N]
    sds : design spectral acceleration. [g]
    importance : Ip. [-]

    References
    ----------
    ASCE 7-16 and ASCE 7-22, equations 13.3-2 and 13.3-3.
    """
    scale = sds * importance * weight
    return min(max(force, 0.3 * scale), 1.6 * scale)


def overturning(force: float, height: float, omega: float = 1.0) -> float:
    """Moment that tips the rack. [N m]

    Parameters
    ----------
    force : Fp. [N]
    height : of the centre of gravity. [m]
    omega : overstrength on anchors in concrete. [-]

    References
    ----------
    Statics; ASCE 7-16, 13.4.2 for the overstrength.
    """
    return omega * force * height


def resisting(weight: float, edge: float, sds: float, method: str = "LRFD") -> float:
    """Moment of the weight that holds the rack down. [N m]

    Parameters
    ----------
    weight : Wp. [N]
    edge : centre of gravity to tipping edge. [m]
    sds : design spectral acceleration. [g]
    method : "LRFD" (0.9 - 0.2 SDS) or "ASD" (0.6). [-]

    References
    ----------
    ASCE 7-16, 2.3.6 and 12.4.2 [from memory]; ASD form read in a filed calculation.
    """
    share = 0.6 if method == "ASD" else 0.9 - 0.2 * sds
    return share * weight * edge


def tension(overturning_moment: float, resisting_moment: float, rows: float, anchors: int = 1) -> float:
    """Tension in one anchor of the lifted row; zero where the weight holds. [N]

    Parameters
    ----------
    overturning_moment : of overturning(). [N m]
    resisting_moment : of resisting(). [N m]
    rows : distance between the rows of anchors. [m]
    anchors : in the lifted row. [-]

    References
    ----------
    Statics: max(0, (Mo - Mr) / d) / n.
    """
    return max(0.0, (overturning_moment - resisting_moment) / rows) / anchors


def shear(force: float, anchors: int, omega: float = 1.0) -> float:
    """Shear in one anchor. [N]

    Parameters
    ----------
    force : Fp. [N]
    anchors : all of them. [-]
    omega : overstrength on anchors in concrete. [-]

    References
    ----------
    Statics: Omega Fp / n.
    """
    return omega * force / anchors
