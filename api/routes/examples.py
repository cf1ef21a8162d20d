"""Request bodies shown in the API's description. A test posts every one of them."""

from __future__ import annotations

from typing import Final

_RACK: Final = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
_OWN_CARD: Final = {
    "card": {"name": "Two Gates"},
    "hand": [
        {"name": "Wide Gate", "family": "gates", "groups": "np*4 (n+2)p*4 flower*6", "where": "n in 1..7"},
        {
            "name": "Narrow Gate",
            "family": "gates",
            "groups": ["wind*2 np*3 nq*3 nr*3 dragon*3", "wind*2 np*4 nq*4 nr*4"],
            "concealed": True,
        },
    ],
}
_TOML: Final = """\
[card]
name = "One Gate"

[[hand]]
name = "Wide Gate"
family = "gates"
groups = "np*4 (n+2)p*4 flower*6"
"""

ADVICE: Final[dict[str, object]] = {
    "first_right": {"rack": _RACK, "round": "first_right"},
    "with_limits": {
        "rack": ["2b", "4b", "4c", "5c", "5c", "5d", "6c", "8d", "1d", "E", "W", "F", "F", "J"],
        "round": "courtesy",
        "give": 2,
        "card": "small",
        "seen": ["9b", "white"],
        "limits": {"stay": "F F", "without": {"traits": ["pairs-only"]}, "no_pairs": True},
        "alternatives": 4,
    },
    "own_arrivals": {
        "rack": _RACK,
        "round": "second_right",
        "give": 1,
        "card": "small",
        "arrivals": {"charleston": 1, "draws": 12, "claims": 20},
        "hands": 3,
    },
    "own_card": {"rack": _RACK, "round": "first_left", "card": _OWN_CARD},
    "with_reasons": {
        "rack": _RACK,
        "round": "first_across",
        "card": "small",
        "drill": {"exchanges_left": 2, "then_draws": 8},
        "why": True,
        "look_ahead": {"samples": 8, "seed": 4},
    },
}

VOTES: Final[dict[str, object]] = {
    "vote": {"rack": _RACK, "card": "small", "seen": "9b 9c 9d", "samples": 8, "seed": 3}
}

PLANS: Final[dict[str, object]] = {
    "two_rounds": {"rack": _RACK, "round": "first_right", "card": "small", "rounds": 2}
}

REVIEWS: Final[dict[str, object]] = {
    "one_lap": {
        "records": [
            {
                "rack": _RACK,
                "card": "small",
                "exchanges": [
                    {"round": "first_right", "given": "1d E W", "received": "3b 9c N", "seconds": 41.5},
                    {"round": "first_across", "given": "9c N 6c", "received": "5b S white", "seconds": 38},
                    {
                        "round": "first_left",
                        "given": "S white",
                        "received": "5c 2d",
                        "blind": 1,
                        "seconds": 29.5,
                    },
                ],
            }
        ]
    }
}

DEALS: Final[dict[str, object]] = {
    "two_close_ones": {"seed": 7, "count": 2, "difficulty": "close", "card": "small", "answers": True},
    "drill": {
        "seed": 11,
        "card": "small",
        "drill": {"exchanges_left": 3},
        "heap": True,
        "difficulty": "any",
    },
}

SHEETS: Final[dict[str, object]] = {
    "dealt": {"seed": 5, "count": 2, "difficulty": "close", "card": "small"},
    "own_racks": {
        "racks": [
            _RACK,
            ["1b", "1b", "2b", "3c", "3c", "4d", "7d", "9d", "N", "S", "red", "F", "J"],
            {"rack": _RACK, "round": "courtesy"},
        ],
        "round": "first_left",
        "card": "small",
        "limits": {"no_pairs": True},
    },
    "checked_only": {"racks": [_RACK], "card": "small", "key": False},
}

_SHEET: Final = {
    "seed": 5,
    "card": {"name": "small", "title": "Orchard"},
    "round": "first_right",
    "drill": None,
    "arrivals": None,
    "limits": [],
    "versions": {"threepass": "0.1.0", "ortools": "9.15.6755"},
    "difficulty": "any",
    "problems": [{"number": 1, "index": 0, "rack": _RACK.split(), "round": "first_right"}],
    "key": [
        {
            "number": 1,
            "pass": ["4c", "6c", "E"],
            "blind": 0,
            "expected_hands": 0.512,
            "proved": True,
            "gap": 0.004,
            "call": "close",
            "runner_ups": [
                {"pass": ["4c", "6c", "W"], "gap": 0.004},
                {"pass": ["4c", "E", "W"], "gap": 0.011},
            ],
            "by_number": [{"give": 3, "blind": 0, "pass": ["4c", "6c", "E"], "gap": 0.0}],
            "hands": [{"name": "Steep Path", "family": "ladders", "reach": 0.11, "tiles_away": 8}],
            "given_up": [
                {"name": "Twin Pears", "family": "couples", "reach_before": 0.04, "reach": 0.01},
            ],
            "sentence": "Giving west wind in place of east wind would cost 0.004 expected hands.",
        }
    ],
    "complete": True,
    "tried": 1,
}
SHEET_PAGES: Final[dict[str, object]] = {
    "problems_to_print": {"sheet": _SHEET, "format": "html", "part": "problems", "paper": "letter"},
    "key_as_table": {"sheet": _SHEET, "format": "csv", "part": "key"},
}

CHECK: Final[dict[str, object]] = {
    "written_out": {"card": _OWN_CARD},
    "toml": {"card": {"toml": _TOML, "file": "one-gate.toml"}},
    "faulty": {"card": {"card": {"name": "Short"}, "hand": [{"name": "a", "family": "b", "groups": "5p*4"}]}},
}

CARDS: Final[dict[str, object]] = {
    "cards": [
        {
            "name": "small",
            "title": "Orchard",
            "hands": 20,
            "targets": 285,
            "families": ["ladders", "mirrors", "gardens", "couples", "giants"],
        }
    ]
}

CARD: Final[dict[str, object]] = {
    "name": "small",
    "title": "Orchard",
    "families": ["ladders"],
    "hands": [
        {
            "name": "Steep Path",
            "family": "ladders",
            "groups": ["np*3 (n+2)q*3 (n+3)p*4 (n+5)q*4"],
            "where": "n in 1..4 and n odd",
            "concealed": False,
            "weight": 1.0,
            "targets": 12,
            "traits": [],
            "chance": 0.002,
        }
    ],
    "targets": 12,
}
