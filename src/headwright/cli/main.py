"""The command line."""

import click


@click.group()
def main() -> None:
    """Choose, check and prove the cylinder head before metal is cut."""
