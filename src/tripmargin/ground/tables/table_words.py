"""The words of the tables, marked for the catalogues: `say` says them in the reader's language.

The rows themselves are read from files, where no catalogue looks; a test holds the two together.
"""

from __future__ import annotations

from tripmargin.ground.languages import later

MATERIAL_WORDS = {
    "steel": later("steel"),
    "cast iron": later("cast iron"),
    "hardened steel": later("hardened steel"),
    "spring steel": later("spring steel"),
    "stainless steel": later("stainless steel"),
    "worked stainless steel": later("worked stainless steel"),
    "ferritic stainless steel": later("ferritic stainless steel"),
    "aluminium": later("aluminium"),
    "copper": later("copper"),
    "brass": later("brass"),
    "stone": later("stone"),
}
MATERIAL_FIRST = {
    "steel": later("Steel"),
    "cast iron": later("Cast iron"),
    "hardened steel": later("Hardened steel"),
    "spring steel": later("Spring steel"),
    "stainless steel": later("Stainless steel"),
    "worked stainless steel": later("Worked stainless steel"),
    "ferritic stainless steel": later("Ferritic stainless steel"),
    "aluminium": later("Aluminium"),
    "copper": later("Copper"),
    "brass": later("Brass"),
    "stone": later("Stone"),
}
"""Where a sentence begins with it."""
WHY_SEEN = (
    later(
        "It is ferromagnetic: the magnet magnetises it, and its shape matters far more than "
        "its exact permeability."
    ),
    later("It is ferromagnetic, and in a short piece it answers nearly as strongly as steel."),
    later(
        "It is ferromagnetic, a little weaker than soft steel in long pieces, and it may "
        "carry a magnetism of its own that adds or takes away."
    ),
    later("It is ferromagnetic, and long thin tines and wires answer strongly along their length."),
    later(
        "Annealed austenitic stainless is hardly magnetic: a ball gives about 1 % of the "
        "signal of the same ball in steel, or less."
    ),
    later(
        "Cold work and welds make austenitic stainless somewhat magnetic, by an amount nobody "
        "can tell by looking: hold a magnet to it."
    ),
    later("It is stainless but ferromagnetic, and answers as steel does."),
    later(
        "It is not magnetic: only its eddy currents answer, too weakly when the piece is "
        "small, and noticeably only when it is big and fast."
    ),
    later("It is not magnetic: only its eddy currents answer, too weakly when the piece is small."),
    later(
        "It is not magnetic, and it conducts less well than aluminium: its eddy currents are "
        "weaker still."
    ),
    later(
        "It neither conducts nor magnetises to speak of (dark basalt a little): a metal "
        "detector does not see stones."
    ),
)
PIECE_WORDS = {
    "1.6 mm baler wire, 100 mm": later("1.6 mm baler wire, 100 mm"),
    "2 mm binding wire, 60 mm": later("2 mm binding wire, 60 mm"),
    "2.5 mm fencing wire, 150 mm": later("2.5 mm fencing wire, 150 mm"),
    "3.15 mm fencing wire, 100 mm": later("3.15 mm fencing wire, 100 mm"),
    "4 mm fencing wire, 80 mm": later("4 mm fencing wire, 80 mm"),
    "barbed wire, 100 mm": later("barbed wire, 100 mm"),
    "8 mm wire rope end, 60 mm": later("8 mm wire rope end, 60 mm"),
    "fence staple 4x40": later("fence staple 4x40"),
    "horseshoe nail": later("horseshoe nail"),
    "horseshoe": later("horseshoe"),
    "mower knife section": later("mower knife section"),
    "rotary mower blade": later("rotary mower blade"),
    "flail, Y-shaped half": later("flail, Y-shaped half"),
    "hay rake tine, broken, 200 mm": later("hay rake tine, broken, 200 mm"),
    "tedder tine, broken, 120 mm": later("tedder tine, broken, 120 mm"),
    "pick-up tine, whole": later("pick-up tine, whole"),
    "pick-up tine, broken, 90 mm": later("pick-up tine, broken, 90 mm"),
    "harrow tine point": later("harrow tine point"),
    "combination spanner 13": later("combination spanner 13"),
    "combination spanner 19": later("combination spanner 19"),
    "drawbar pin 32x200": later("drawbar pin 32x200"),
    "hitch pin 25x150": later("hitch pin 25x150"),
    "lower link pin 22x120": later("lower link pin 22x120"),
    "linch pin 10x45": later("linch pin 10x45"),
    "R-clip 4x80": later("R-clip 4x80"),
    "split pin 5x50": later("split pin 5x50"),
    "roll pin 8x40": later("roll pin 8x40"),
    "shear bolt M10x50 stub": later("shear bolt M10x50 stub"),
    "plough bolt M12x35": later("plough bolt M12x35"),
    "plough share tip": later("plough share tip"),
    "hammer head 500 g": later("hammer head 500 g"),
    "pocket-knife": later("pocket-knife"),
    "padlock 40": later("padlock 40"),
    "rebar end 12x80": later("rebar end 12x80"),
    "rebar end 8x150": later("rebar end 8x150"),
    "angle-iron offcut 40x40x4, 60 mm": later("angle-iron offcut 40x40x4, 60 mm"),
    "flat-iron offcut 40x5, 80 mm": later("flat-iron offcut 40x5, 80 mm"),
    "welding rod stub 3.2x60": later("welding rod stub 3.2x60"),
    "M6 grease nipple": later("M6 grease nipple"),
    "hydraulic fitting, 3/8 nipple": later("hydraulic fitting, 3/8 nipple"),
    "hose clamp": later("hose clamp"),
    "drinks can of steel, flattened": later("drinks can of steel, flattened"),
    "drinks can of aluminium, flattened": later("drinks can of aluminium, flattened"),
    "food-can lid": later("food-can lid"),
    "cast bracket fragment": later("cast bracket fragment"),
    "stainless milk-filter clip": later("stainless milk-filter clip"),
    "stainless M10x30 bolt": later("stainless M10x30 bolt"),
    "aluminium gate-latch part": later("aluminium gate-latch part"),
    "brass hose coupling": later("brass hose coupling"),
    "fist-sized stone": later("fist-sized stone"),
}
