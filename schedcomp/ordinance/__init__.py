"""Rules to meet: ordinance files read, and their clauses judged on lit stretches.

A clause reads as duties, stretches of time in which lamps must be dark, lit or few, and is judged
night by night on what the lamps do, be it the exact year or a test run. Nothing here knows of
slots or fit.
"""
