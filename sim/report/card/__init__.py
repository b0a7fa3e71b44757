"""One printable page to take to the field, as HTML and as PDF.

`contents.sheet` returns what is on the card as plain blocks; `render.html` and `pdf.pdf` lay the
same blocks out.
"""
