"""Migrations of the shop book's layout; see ``env.py``."""
