"""What each page of the reckoner for making is usually asked, as it is typed."""

# National Instructional Media Institute, CITS Dress Making, Trade Practical, p. 209, exercise 48.
TUCKS = {"tucks": "16", "depth": "2", "count": "20", "count_unit": "cm", "width": "28", "spacing": "16"}
BIAS = {
    "finished": "6",
    "fold": "double",
    "edge": "100",
    "join_seam": "6.35",
    "cloth_width": "150",
    "cloth_height": "40",
}
CLOTH = {
    "cloth_width": "90",
    "name-1": "front",
    "width-1": "40",
    "height-1": "70",
    "copies-1": "2",
    "shrink_warp": "5",
}
FIT = {
    "sex": "girl",
    "born": "2026-01-01",
    "on": "2026-10-02",
    "length": "62",
    "length_on": "2026-04-02",
}
THREAD = {"skein": "8", "needleful": "45", "operation-1": "pair_knot", "quantity-1": "12", "width-1": "25"}
YARN = {
    "count_unit": "cm",
    "warp_count": "20",
    "weft_count": "19",
    "warp_system": "tex",
    "warp_number": "25",
    "warp_plies": "1",
    "fibre": "linen",
}
GROWTH = {"let_down": "5", "deepest": "10", "count": "20", "count_unit": "cm", "above_hem": "6"}
USUAL: dict[str, dict[str, str]] = {
    "growth": GROWTH,
    "tucks": TUCKS,
    "bias": BIAS,
    "cloth": CLOTH,
    "fit": FIT,
    "thread": THREAD,
    "yarn": YARN,
}
