"""Glossary: what each name in results and files means, and its unit.

Datasets, tables and plots take their labels from here, so that one thing has one name.
"""

from __future__ import annotations

# name -> (long name, unit as printed)
NAMES: dict[str, tuple[str, str]] = {
    "band_hz": ("third-octave band, nominal", "Hz"),
    "frequency": ("frequency", "Hz"),
    "source": ("source of the blow", ""),
    "level": ("band level in the room below", "dB re 20 µPa"),
    "level_bare": ("band level below the floor without the new ceiling", "dB re 20 µPa"),
    "level_best_case": ("band level with perfect hangers", "dB re 20 µPa"),
    "level_low": ("lower end of the band level's 90 % range", "dB re 20 µPa"),
    "level_high": ("upper end of the band level's 90 % range", "dB re 20 µPa"),
    "normalized_level": ("normalized impact sound pressure level", "dB re 20 µPa, A0 10 m2"),
    "background": ("background noise of the room", "dB re 20 µPa"),
    "threshold": ("threshold of hearing", "dB re 20 µPa"),
    "resonance": ("resonance frequency", "Hz"),
    "share_of_motion": ("share of the leaf in the motion of the mode", "1"),
    "amplification": ("level above that of the floor without the ceiling", "dB"),
    "stiffness_per_area": ("dynamic stiffness per area", "N/m3"),
    "mass_per_area": ("mass per area", "kg/m2"),
    "dynamic_stiffness": ("dynamic stiffness of one hanger", "N/m"),
    "static_stiffness": ("static stiffness of one hanger", "N/m"),
    "loss_factor": ("loss factor", "1"),
    "reverberation_time": ("reverberation time", "s"),
    "clear_depth": ("clear depth of the cavity", "m"),
    "drop": ("height taken by the ceiling, boards included", "m"),
    "headroom": ("finished height of the room", "m"),
    "load": ("static load on one hanger", "N"),
    "deflection": ("static deflection", "m"),
    "rebound": ("rebound velocity of the hammer over its impact velocity", "1"),
    "flow_resistivity": ("air flow resistivity of the fill", "Pa s/m2"),
    "bending_stiffness": ("bending stiffness", "N m2"),
    "youngs_modulus": ("Young's modulus", "Pa"),
    "density": ("density", "kg/m3"),
}


def label(name: str) -> str:
    """Label of an axis or a column: long name with its unit in brackets; KeyError if unknown."""
    long_name, unit = NAMES[name]
    return f"{long_name} [{unit}]" if unit and unit != "1" else long_name
