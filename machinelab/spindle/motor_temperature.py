"""What temperature does to the spindle's motor, and how a damaged magnet shows.

Copper resists more when it is warm, magnets give less. A hot motor runs faster light, sags more under load,
and draws more current for the same torque.
"""

from machinelab.ranges import positive

# Handbook value for copper near 20 degrees.
COPPER_PER_K = 0.00393
# Loss of flux for each degree of warming, from memory.
FLUX_LOSS_PER_K = {"ferrite": 0.0020, "neodymium": 0.0012, "samarium cobalt": 0.0004}
# A loss of flux from here on tells of damaged magnets, from memory.
DAMAGED_FLUX_SHARE = 0.02


def hot_resistance_ohm(resistance_20_ohm, *, winding_degc):
    """How the resistance of a copper winding grows with its temperature.

    Formula
    -------
    hot_resistance_ohm = resistance_20_ohm * (1 + 0.00393 * (winding_degc - 20))

    Parameters
    ----------
    resistance_20_ohm : float or array [ohm]
        Resistance at 20 degrees.
    winding_degc : float or array [degC]
        Temperature of the winding.

    Returns
    -------
    float or array [ohm]
        Resistance at that temperature.

    Range
    -----
    About -50 to 200 degrees; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the resistance is not above zero.

    Examples
    --------
    >>> round(hot_resistance_ohm(1.2, winding_degc=120), 4)
    1.6716

    Source
    ------
    Textbook: temperature coefficient of copper at 20 degrees.
    """
    return positive("resistance_20_ohm", resistance_20_ohm) * (1 + COPPER_PER_K * (winding_degc - 20))


def winding_temperature_degc(resistance_ohm, *, resistance_20_ohm):
    """How hot a copper winding is, by its resistance: the winding as its own thermometer.

    Formula
    -------
    winding_temperature_degc = 20 + (resistance_ohm / resistance_20_ohm - 1) / 0.00393

    Parameters
    ----------
    resistance_ohm : float or array [ohm]
        Resistance now.
    resistance_20_ohm : float or array [ohm]
        Resistance at 20 degrees, measured in the same way.

    Returns
    -------
    float or array [degC]
        Mean temperature of the winding; its hottest place is some ten degrees warmer.

    Range
    -----
    About -50 to 200 degrees; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a resistance is not above zero.

    Examples
    --------
    >>> round(winding_temperature_degc(1.6716, resistance_20_ohm=1.2))
    120

    Source
    ------
    Textbook: temperature coefficient of copper at 20 degrees, solved for temperature.
    """
    grown = positive("resistance_ohm", resistance_ohm) / positive("resistance_20_ohm", resistance_20_ohm)
    return 20 + (grown - 1) / COPPER_PER_K


def hot_back_emf_v_s_per_rad(back_emf_v_s_per_rad, *, magnet_rise_k, flux_loss_per_k):
    """How the back EMF, and with it the torque of each ampere, falls as the magnets warm.

    The magnets must not be demagnetised meanwhile; see `flux_loss_share`.

    Formula
    -------
    hot_back_emf_v_s_per_rad = back_emf_v_s_per_rad * (1 - flux_loss_per_k * magnet_rise_k)

    Parameters
    ----------
    back_emf_v_s_per_rad : float or array [V s/rad]
        Back EMF as measured.
    magnet_rise_k : float or array [K]
        How much warmer the magnets are now.
    flux_loss_per_k : float or array [1/K]
        Flux lost for each degree: 0.002 for ferrite, 0.0012 for neodymium, 0.0004 for samarium cobalt.

    Returns
    -------
    float or array [V s/rad]
        Back EMF now; it comes back on cooling, as long as the magnets were not damaged.

    Range
    -----
    Rises up to about 120 K; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If the back EMF is not above zero.

    Examples
    --------
    >>> round(hot_back_emf_v_s_per_rad(0.288, magnet_rise_k=100, flux_loss_per_k=0.002), 4)
    0.2304

    Source
    ------
    Reversible temperature coefficients of magnets, from memory.
    """
    return positive("back_emf_v_s_per_rad", back_emf_v_s_per_rad) * (1 - flux_loss_per_k * magnet_rise_k)


def flux_loss_share(back_emf_after_v_s_per_rad, *, back_emf_before_v_s_per_rad):
    """How much flux the magnets have lost between two generator tests at the same temperature.

    Do one test before the first hard brake and one after: 2 % or more tells of damaged magnets.

    Formula
    -------
    flux_loss_share = 1 - back_emf_after_v_s_per_rad / back_emf_before_v_s_per_rad

    Parameters
    ----------
    back_emf_after_v_s_per_rad : float or array [V s/rad]
        Back EMF by generator test, after.
    back_emf_before_v_s_per_rad : float or array [V s/rad]
        The same, before.

    Returns
    -------
    float or array [1]
        Share of the flux that is gone; a few parts in a thousand are the meter's.

    Range
    -----
    Both above zero, both taken with the motor cold; NaN in gives NaN out.

    Raises
    ------
    RangeError
        If a back EMF is not above zero.

    Examples
    --------
    >>> round(flux_loss_share(0.279, back_emf_before_v_s_per_rad=0.288), 3)
    0.031

    Source
    ------
    Textbook: back EMF is proportional to flux. The limit of 2 %: from memory.
    """
    after = positive("back_emf_after_v_s_per_rad", back_emf_after_v_s_per_rad)
    return 1 - after / positive("back_emf_before_v_s_per_rad", back_emf_before_v_s_per_rad)
