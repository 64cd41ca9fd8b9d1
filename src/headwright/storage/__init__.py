"""The shop book: one SQLite file with every record's every revision, and what goes in and out.

* :mod:`headwright.storage.repository` -- :class:`~headwright.storage.repository.Book`
* :mod:`headwright.storage.exchange` -- records as TOML and JSON text
* :mod:`headwright.storage.sheets` -- CSV and XLSX sheets to fill in at the bench
* :mod:`headwright.storage.backup` -- backup to one file and restore from it

Nothing is imported here: SQLAlchemy takes about 0.4 s to load, so who needs the book imports
``headwright.storage.repository`` when it is needed.
"""
