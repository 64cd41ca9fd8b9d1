"""Engines against closed forms, textbook cycles and published behaviour."""
