"""Balance: where the weight stands so that the loaded arm does not pull its shaft about.

Moments are mass times distance from the shaft. Those of the flask's side count positive; the weight answers them.
"""

from __future__ import annotations

# Half a water in calcium sulphate hemihydrate, by mass: 0.5 x 18.015 / 145.148, both in g/mol. Burnout drives it out.
HEMIHYDRATE_WATER_FRAC = 0.5 * 18.015 / 145.148


def side_moment_kgm(
    arm_kgm: float,
    flask_kg: float,
    flask_m: float,
    crucible_kg: float,
    crucible_m: float,
    charge_kg: float,
    charge_m: float,
) -> float:
    """Return the moment of the flask's side of the straight arm.

    Parameters
    ----------
    arm_kgm : float
        The bare arm about the shaft, positive where the flask's side is the heavier [kg*m].
    flask_kg, flask_m : float
        Dry flask with its cradle [kg] and where its middle is [m].
    crucible_kg, crucible_m : float
        Crucible [kg] and where it is [m].
    charge_kg, charge_m : float
        Metal [kg] and where it is at the moment asked for [m]: in the crucible, in the flask, or between.
    """
    return arm_kgm + flask_kg * flask_m + crucible_kg * crucible_m + charge_kg * charge_m


def mark_m(moment_kgm: float, weight_kg: float) -> float:
    """Return how far from the shaft a weight [kg] answers a moment [kg*m].

    Raises
    ------
    ValueError
        The weight is not positive.
    """
    if weight_kg <= 0:
        raise ValueError(f"a weight must be positive, not {weight_kg} kg")
    return moment_kgm / weight_kg


def weight_for_mark_kg(moment_kgm: float, mark_m: float) -> float:
    """Return the weight that answers a moment [kg*m] at a mark [m].

    Raises
    ------
    ValueError
        The mark is on the shaft or on the flask's side of it.
    """
    if mark_m <= 0:
        raise ValueError(f"a mark must be away from the shaft, not at {mark_m} m")
    return moment_kgm / mark_m


def residual_kgm(moment_kgm: float, weight_kg: float, mark_m: float) -> float:
    """Return what a weight [kg] at a mark [m] leaves unanswered of a moment [kg*m]; negative: too much weight."""
    return moment_kgm - weight_kg * mark_m


def shaft_force_N(residual_kgm: float, speed_rad_s: float) -> float:
    """Return the force that an unanswered moment [kg*m] pulls at the shaft with, at a speed [rad/s].

    It turns with the arm, so the bench feels it as shaking.
    """
    return abs(residual_kgm) * speed_rad_s**2


def balance_grade_m_s(residual_kgm: float, rotating_kg: float, speed_rad_s: float) -> float:
    """Return eccentricity times speed, the form in which ISO 21940-11 states a balance grade.

    Information only: the standard is for rigid rotors, not for an arm that unfolds. Grade G 40 is 0.040 m/s.

    Parameters
    ----------
    residual_kgm : float
        Unanswered moment [kg*m].
    rotating_kg : float
        Everything that turns [kg].
    speed_rad_s : float
        Speed [rad/s].
    """
    return abs(residual_kgm) / rotating_kg * speed_rad_s


def residual_allowed_kgm(grade_m_s: float, rotating_kg: float, speed_rad_s: float) -> float:
    """Return the unanswered moment at which a rotor [kg] at a speed [rad/s] just meets a grade [m/s]."""
    return rotating_kg * grade_m_s / speed_rad_s


def dry_flask_kg(steel_kg: float, powder_kg: float, hemihydrate_frac: float) -> float:
    """Return the mass of a flask after burnout: all mixing water is gone, and the powder's own half water.

    Parameters
    ----------
    steel_kg : float
        Empty flask [kg].
    powder_kg : float
        Powder that went into it [kg].
    hemihydrate_frac : float
        Share of the powder that is calcium sulphate hemihydrate.
    """
    return steel_kg + powder_kg * (1 - hemihydrate_frac * HEMIHYDRATE_WATER_FRAC)
