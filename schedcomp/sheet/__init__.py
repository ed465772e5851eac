"""The sheet: what people hold in their hands, on screen and on paper.

`facts.sheet_facts` makes pages of blocks from a compilation; `html` and `pdf` only lay them out.
"""
