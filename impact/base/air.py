"""Air at 20 C, and gravity."""

DENSITY = 1.204  # kg/m3, dry air at 20 C, 101.325 kPa (ISO 9613-1)
SPEED = 343.2  # m/s, at 20 C (ISO 9613-1)
IMPEDANCE = DENSITY * SPEED  # Pa s/m
PRESSURE = 101325.0  # Pa, static
BULK_ADIABATIC = 1.4 * PRESSURE  # Pa, 142 kPa
GRAVITY = 9.80665  # m/s2, standard (exact: NIST SP 811)
