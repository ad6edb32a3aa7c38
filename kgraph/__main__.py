"""``python -m kgraph``."""

from kgraph.cli import run

if __name__ == "__main__":
    run()
