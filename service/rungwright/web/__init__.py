"""Pages for teachers and coaches: rendered here, complete without script, nothing from outside.

A page is a view (a frozen dataclass with every field typed, and the name of its template) that a route gives to
`Desk.show`; a form is read by a route under `posted`. Routes stand in `*_pages.py`, one module a part of the work;
`site.py` puts them together with the HTTP interface. What an answer page asks stands wholly in its address (`asked`),
so that script only fetches the same page and puts it in place. Pictures are computed (`pictures.py`, `drawing.py`).
What stands on a sheet is made by `sheets` alone and shown block by block (`sheet_pages`); the form of a check is made
of its signature (`check_pages`). Nothing about supports may stand on a page but the owner's editor of a section.
"""
