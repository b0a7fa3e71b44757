"""An ensemble as one page to read, print and keep: a single HTML file that needs no network.

`contents.sections` and `comparing.sections` return what is on the page, in order, as plain blocks;
`render.page` turns them into HTML. Whoever adds to the page adds a section.
"""
