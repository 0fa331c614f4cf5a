"""Every picture, in one look: maps, race, reach, feed path, current paths; and their files."""

from tripmargin.pictures.belief_bars import Bar, CardText, bars_table, case_picture
from tripmargin.pictures.current_paths import current_paths_picture, current_paths_table
from tripmargin.pictures.feed_path import feed_path_picture
from tripmargin.pictures.feed_path_words import feed_path_table
from tripmargin.pictures.noise_orders import noise_orders_picture, noise_orders_table
from tripmargin.pictures.page import Section
from tripmargin.pictures.protection_map import protection_map_picture
from tripmargin.pictures.race import race_picture
from tripmargin.pictures.reach import reach_picture
from tripmargin.pictures.save import save_picture
from tripmargin.pictures.tables import protection_map_table, race_table, reach_table

__all__ = [
    "Bar",
    "CardText",
    "Section",
    "bars_table",
    "case_picture",
    "current_paths_picture",
    "current_paths_table",
    "feed_path_picture",
    "feed_path_table",
    "noise_orders_picture",
    "noise_orders_table",
    "protection_map_picture",
    "protection_map_table",
    "race_picture",
    "race_table",
    "reach_picture",
    "reach_table",
    "save_picture",
]
