"""Good speed windows of a hot-air welded EVA roofing sheet, m/min, by ambient, degC.

Park et al. 2020, Materials 13(23):5586, doi 10.3390/ma13235586 (abstract). Seven speeds were
tried, 3 to 9 m/min by 1.
"""

WINDOWS = {
    -10: (3.0, 4.1),
    -5: (3.0, 4.6),
    0: (3.0, 4.9),
    25: (4.3, 9.0),
    30: (4.7, 8.7),
    35: (5.2, 8.6),
}
