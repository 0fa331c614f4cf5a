"""Fields of the machine file by their own names, as people read them."""

from __future__ import annotations

from tripmargin.ground.languages import later, say

_FIELDS = {
    "at_clearance": later("At clearance"),
    "centre": later("Centre"),
    "clearance": later("Clearance"),
    "coil_resistance": later("Coil resistance"),
    "confidence": later("Confidence"),
    "coupling": later("Coupling"),
    "crop_depth": later("Crop depth"),
    "cut_lengths": later("Cut lengths"),
    "cutterhead_speed": later("Cutterhead speed"),
    "damping": later("Damping"),
    "decision_delay": later("Decision delay"),
    "description": later("Description"),
    "direction": later("Direction"),
    "drag_torque": later("Drag torque"),
    "engagement_depth": later("Engagement depth"),
    "feeler_step": later("Feeler step"),
    "friction": later("Friction"),
    "friction_torque": later("Friction torque"),
    "gain": later("Gain"),
    "height": later("Height"),
    "high_cut": later("High cut"),
    "inductance": later("Inductance"),
    "inertia": later("Inertia"),
    "inner": later("Inner"),
    "kind": later("Kind"),
    "knives": later("Knives"),
    "leverage": later("Leverage"),
    "low_cut": later("Low cut"),
    "magnet_gap": later("Magnet gap"),
    "mass": later("Mass"),
    "must_stop": later("Must stop"),
    "name": later("Name"),
    "noise": later("Noise"),
    "outer": later("Outer"),
    "placed_within": later("Placed within"),
    "ratchet_teeth": later("Ratchet teeth"),
    "ratchet_turns_per_roll_turn": later("Ratchet turns per roll turn"),
    "relative_permeability": later("Relative permeability"),
    "relay_release": later("Relay release"),
    "release_current": later("Release current"),
    "release_time": later("Release time"),
    "remanence": later("Remanence"),
    "resistance": later("Resistance"),
    "ripple": later("Ripple"),
    "roll_angle": later("Roll angle"),
    "roll_diameter": later("Roll diameter"),
    "roll_width": later("Roll width"),
    "rotation": later("Rotation"),
    "season_drift": later("Season drift"),
    "sense": later("Sense"),
    "sensor_to_shear_bar": later("Sensor to shear bar"),
    "serial": later("Serial"),
    "setting_range": later("Setting range"),
    "size": later("Size"),
    "slip": later("Slip"),
    "slip_torque": later("Slip torque"),
    "smallest_turn": later("Smallest turn"),
    "spring_force": later("Spring force"),
    "spring_rate": later("Spring rate"),
    "spring_torque": later("Spring torque"),
    "stiffness": later("Stiffness"),
    "stop_time": later("Stop time"),
    "supply": later("Supply"),
    "supply_minimum": later("Supply minimum"),
    "suppression": later("Suppression"),
    "swing_time": later("Swing time"),
    "temperature": later("Temperature"),
    "thread_pitch": later("Thread pitch"),
    "threshold": later("Threshold"),
    "tightening_shift": later("Tightening shift"),
    "time": later("Time"),
    "tip_radius": later("Tip radius"),
    "travel": later("Travel"),
    "travel_time": later("Travel time"),
    "turned_out": later("Turned out"),
    "turns": later("Turns"),
    "voltage": later("Voltage"),
}
"""By the last part of a field's path. Those of circuit and checks stay as written."""

_SECTIONS = {
    "machine": later("Machine"),
    "feed": later("Feed"),
    "sensor": later("Sensor"),
    "detector": later("Detector"),
    "chain": later("Chain"),
    "limits": later("Limits"),
}


def field_said(name: str) -> str:
    """The last part of a field's path, in the reader's language.

    >>> field_said("roll_width"), field_said("on_state_drop")
    ('Roll width', 'On state drop')
    """
    return say(_FIELDS[name]) if name in _FIELDS else name.replace("_", " ").capitalize()


def section_said(name: str) -> str:
    """A section of the machine file, in the reader's language."""
    return say(_SECTIONS[name]) if name in _SECTIONS else name.capitalize()
