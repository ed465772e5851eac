"""Every diagnostic kind of schedcomp, by code. Wording stands only in this package.

E1xx writing, E2xx meaning, E3xx calendar, E4xx sun and place, E5xx promises and rules, E6xx
slots, E7xx files, E9xx our own faults. A code is never used again for something else.
"""
