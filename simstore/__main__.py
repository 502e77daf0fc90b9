"""``python -m simstore``."""

from __future__ import annotations

from simstore.cli.app import main

if __name__ == "__main__":
    main()
