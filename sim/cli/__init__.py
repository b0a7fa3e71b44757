"""The command `setdown`: one file a verb, thin. Only this room and the reports print."""

from sim.cli.main import main, program

__all__ = ["main", "program"]
