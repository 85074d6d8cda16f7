"""Belt sections: what is known of each, with where it comes from.

A measured property is [value, low, high, source]. "from memory" means that no copy of the standard was at
hand when it was written down. Lengths in mm, masses in kg/m for one rib or one strand.
"""

_9982 = "ISO 9982:2021, from memory"
_ESTIMATE = "from memory, spread is our estimate"
_SHIGLEY = "from K_c of Shigley, Mechanical Engineering Design, table 17-16 (table number from memory)"

# name: pitch, height (nominal, lowest and highest as supplied), least diameter, differential, mass
RIBBED = {
    "PH": {"pitch_mm": 1.60, "height_mm": [3.0, 2.5, 3.0, _9982], "least_mm": 13.0,
           "differential_mm": [0.8, 0.8, 0.8, _9982], "mass": [0.006, 0.005, 0.007, "makers' page; " + _ESTIMATE]},
    "PJ": {"pitch_mm": 2.34, "height_mm": [4.0, 3.5, 4.0, _9982], "least_mm": 20.0,
           "differential_mm": [1.2, 1.2, 1.25, _9982], "mass": [0.009, 0.0075, 0.0105, _ESTIMATE]},
    "PK": {"pitch_mm": 3.56, "height_mm": [6.0, 4.3, 5.3, "ISO 9981; as supplied from memory"], "least_mm": 45.0,
           "differential_mm": [2.0, 1.6, 2.0, "ISO 9981:2020, 5.4; low value DIN 7867, from memory"],
           "mass": [0.018, 0.014, 0.021, _ESTIMATE]},
    "PL": {"pitch_mm": 4.70, "height_mm": [10.0, 7.5, 9.0, _9982], "least_mm": 75.0,
           "differential_mm": [3.0, 3.0, 3.5, _9982], "mass": [0.0375, 0.030, 0.045, _ESTIMATE]},
    "PM": {"pitch_mm": 9.40, "height_mm": [17.0, 13.0, 16.5, _9982], "least_mm": 180.0,
           "differential_mm": [4.0, 4.0, 5.0, _9982], "mass": [0.13, 0.105, 0.16, _ESTIMATE]},
}

# name: top width, height, least diameter; "datum" and "outside" are how much longer those lines are than the inside
_2215 = "DIN 2215"
_J636 = "SAE J636"
V_BELTS = {
    "Y": {"top_mm": 6.0, "height_mm": 4.0, "least_mm": 28.0, "source": _2215},
    "Z": {"top_mm": 10.0, "height_mm": 6.0, "least_mm": 50.0, "source": _2215,
          "datum_mm": 22.0, "outside_mm": 38.0, "line_source": "from memory"},
    "A": {"top_mm": 13.0, "height_mm": 8.0, "least_mm": 75.0, "source": _2215,
          "datum_mm": 30.0, "outside_mm": 50.0, "line_source": _2215, "mass": [0.097, 0.082, 0.112, _SHIGLEY]},
    "B": {"top_mm": 17.0, "height_mm": 11.0, "least_mm": 125.0, "source": _2215,
          "datum_mm": 40.0, "outside_mm": 69.0, "line_source": _2215, "mass": [0.166, 0.141, 0.191, _SHIGLEY]},
    "C": {"top_mm": 22.0, "height_mm": 14.0, "least_mm": 200.0, "source": _2215,
          "datum_mm": 58.0, "outside_mm": 88.0, "line_source": _2215, "mass": [0.296, 0.252, 0.340, _SHIGLEY]},
    "D": {"top_mm": 32.0, "height_mm": 20.0, "least_mm": 355.0, "source": _2215,
          "datum_mm": 75.0, "outside_mm": 125.7, "line_source": "from memory; outside 2 pi h",
          "mass": [0.603, 0.513, 0.693, _SHIGLEY]},
    "E": {"top_mm": 40.0, "height_mm": 25.0, "least_mm": 500.0, "source": _2215,
          "datum_mm": 80.0, "outside_mm": 157.1, "line_source": "from memory; outside 2 pi h",
          "mass": [0.869, 0.739, 0.999, _SHIGLEY]},
    "SPZ": {"top_mm": 9.7, "height_mm": 8.0, "least_mm": 63.0, "source": "ISO 4184, from memory",
            "mass": [0.07, 0.06, 0.08, _ESTIMATE]},
    "SPA": {"top_mm": 12.7, "height_mm": 10.0, "least_mm": 90.0, "source": "ISO 4184, from memory",
            "mass": [0.12, 0.10, 0.14, _ESTIMATE]},
    "SPB": {"top_mm": 16.3, "height_mm": 13.0, "least_mm": 140.0, "source": "ISO 4184, from memory",
            "mass": [0.20, 0.17, 0.23, _ESTIMATE]},
    "SPC": {"top_mm": 22.0, "height_mm": 18.0, "least_mm": 224.0, "source": "ISO 4184, from memory",
            "mass": [0.37, 0.31, 0.43, _ESTIMATE]},
    "AV10": {"top_mm": 10.0, "height_mm": 8.0, "least_mm": 61.0, "source": "ISO 2790; height from memory",
             "mass": [0.082, 0.070, 0.095, _ESTIMATE]},
    "AV13": {"top_mm": 13.0, "height_mm": 9.5, "least_mm": 76.0, "source": "ISO 2790; height from memory",
             "mass": [0.125, 0.105, 0.145, _ESTIMATE]},
    "3V": {"top_mm": 9.7, "height_mm": 8.0, "least_mm": 67.0, "source": "from memory"},
    "5V": {"top_mm": 16.0, "height_mm": 13.0, "least_mm": 180.0, "source": "from memory"},
    "8V": {"top_mm": 26.0, "height_mm": 23.0, "least_mm": 315.0, "source": "from memory"},
    "9N": {"top_mm": 9.7, "height_mm": 8.0, "least_mm": 67.0, "source": "from memory"},
    "15N": {"top_mm": 16.0, "height_mm": 13.0, "least_mm": 180.0, "source": "from memory"},
    "25N": {"top_mm": 26.0, "height_mm": 23.0, "least_mm": 315.0, "source": "from memory"},
    "AA": {"top_mm": 13.0, "height_mm": 10.0, "least_mm": 80.0, "source": "ISO 5289, from memory"},
    "BB": {"top_mm": 17.0, "height_mm": 13.0, "least_mm": 125.0, "source": "ISO 5289, from memory"},
    "CC": {"top_mm": 22.0, "height_mm": 17.0, "least_mm": 224.0, "source": "ISO 5289, from memory"},
    "DD": {"top_mm": 32.0, "height_mm": 25.0, "least_mm": 355.0, "source": "ISO 5289, from memory"},
    "3L": {"top_mm": 9.5, "height_mm": 5.6, "least_mm": 38.0, "source": "from memory"},
    "4L": {"top_mm": 12.5, "height_mm": 7.9, "least_mm": 64.0, "source": "from memory"},
    "5L": {"top_mm": 16.0, "height_mm": 9.7, "least_mm": 89.0, "source": "from memory"},
    "10A": {"top_mm": 9.7, "height_mm": 8.0, "least_mm": 61.0, "source": _J636 + "; height from memory"},
    "13A": {"top_mm": 12.7, "height_mm": 10.0, "least_mm": 76.0, "source": _J636 + "; height from memory"},
    "15A": {"top_mm": 15.2, "height_mm": 10.0, "least_mm": 76.0, "source": _J636 + "; height from memory"},
    "17A": {"top_mm": 16.8, "height_mm": 11.0, "least_mm": 76.0, "source": _J636 + "; height from memory"},
    "20A": {"top_mm": 20.0, "height_mm": 12.5, "least_mm": 89.0, "source": _J636 + "; height from memory"},
    "23A": {"top_mm": 23.1, "height_mm": 14.0, "least_mm": 102.0, "source": _J636 + "; height from memory"},
}

# Bending stiffness of one PK rib: a patent gives 0.0039 N m2 for five ribs (EP 1 046 835), dynamics papers about
# 0.015 N m2 for six or seven.  They differ by a factor of three, so the interval is carried, not a value.
BENDING_PK_NM2 = (0.00078, 0.0025)
# Cord of one PK rib [N]: papers 17 to 28 kN, static tests 15 to 40 kN (from memory).
AXIAL_PK_N = (15000.0, 40000.0)
# A stretch-fit cord is softer by five to fifteen times (from memory, low confidence).
AXIAL_STRETCH_PK_N = (1000.0, 8000.0)
