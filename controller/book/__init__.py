"""The book: the print log, kept so that no power cut loses a closed exposure.

Importing this package loads nothing; take what you need from its modules.

* ``faults``: ``BookFault``, one sentence for whatever the book cannot do.
* ``entries``: what is read out of the book (``Record``, ``Page``, ``Pick``, ...), plain data.
* ``interrupted``: what a sheet had when a run was cut off (``Interrupted``).
* ``marks``: the row of pencil marks.
* ``book``: ``Book`` itself. This one loads SQLAlchemy, a third of a second on a small computer.

The rest is the book's own: ``tables`` and ``migrations`` (the schema), ``opening`` and
``migrate`` (from a path to a sound database), ``writing``, ``reading`` and ``shelf`` (the SQL).
"""
