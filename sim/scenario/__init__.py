"""What a user may write: parts, units, laws of chance, the checks and their messages.

`load_scenario` reads a TOML file into a `Scenario`: every number in SI with its law of chance,
every setting, every curve, and the success predicate.
"""

from sim.scenario.catalogue import KeyRow, describe_keys
from sim.scenario.correlated import Correlated
from sim.scenario.laws import Law
from sim.scenario.numbers import Number
from sim.scenario.scenario import Scenario, load_scenario
from sim.scenario.success import Limit

__all__ = [
    "Correlated",
    "KeyRow",
    "Law",
    "Limit",
    "Number",
    "Scenario",
    "describe_keys",
    "load_scenario",
]
