"""From the exact year to few events: a program of provably least length.

`fitting.fit` is the entry. The order below: firings (when every possible event would fire), cells
(where a firing is harmless, where it covers), candidates (the events worth considering), cover
(the fewest of them, exactly) and borders (the same where borders must be chosen with them).
"""
