"""The browser's face of the shop book: it reads a request, calls an action, renders a view.

Nothing here is imported by the other faces; :mod:`headwright.web.app` holds the way in.
"""
