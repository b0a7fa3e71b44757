"""Pages of the guide that no declaration holds: frames, bounds, terms, cautions."""

WRITTEN = """\
A scenario is a TOML file: sections with keys. A number is written with its unit, and may be a law
of chance:

  length = "1.1 m"                                fixed
  length = "1.1 m +/- 3 mm"                       normal, one standard deviation
  length = "1.1 m +/- 2 %"                        the same, of the value
  length = { uniform = ["1.0 m", "1.2 m"] }       low, high
  length = { triangular = ["1.0 m", "1.1 m", "1.2 m"] }   low, most likely, high
  tilt = { half_normal = "0.3 deg" }              a magnitude: the size of a normal error
  length = { truncated_normal = ["1.1 m", "3 mm", "1.0 m", "1.2 m"] }
  length = { empirical = ["1.08 m", "1.11 m", "1.10 m"] }   what was measured, each as likely
  length = { value = "1.1 m +/- 3 mm", believed = "1.12 m" }   what the flight computer is told

`base = "other.toml"` builds on another file: only what differs is written. `setdown check FILE`
prints every number that will be used, and where it comes from."""

FRAMES = """\
local (ENU), origin on the ground at the launch point      body, nose up on the launch pad

        up (z)                                                  x  (nose)
         |   north (y)                                          |
         |  /                                                   |   z  (belly, towards the heading:
         | /                                                    |  /    north at 0)
         |/________ east (x)                                    | /
                                                                |/_______ y  (right: east)

Body axes are x forward, y right, z down when the vehicle lies level (ISO 1151). A quaternion is
unit, scalar first, and turns body into local.

A station is a distance behind the tip of the nose; body x = -station.
Tilt is the angle of the long axis from the vertical; its direction is where the nose leans, counted
from north towards east. Heading is where body z points.
Thrust acts along +x. A gimbal turn (y, z) about body y and z points it along (1, z, -y).
Height is three numbers: of the inertial unit, of the centre of gravity, of the feet. Tables say
which."""

SURE = """\
Every bound is for one figure by itself, at the confidence printed with it (95 % unless you say
otherwise). Where you decide by several at once, ask for more: with ten figures at 99.5 % each, all
ten hold with 95 %."""

BOUNDS = {
    "shares: success, limits, outcomes": "Clopper and Pearson: exact, and so a little wide",
    "percentiles: R95, touchdown speed": "order statistics: no law is assumed",
    "size of a landing pad": "order statistics of distances (Wilks); other flights chose the pad",
    "means": "Student's t",
    "two designs": "flight by flight on the same draws: McNemar for success, the mean difference "
                   "for the rest",
    "a run that you watch": "confidence sequences, which hold at every number of flights",
    "a run that ends when tight enough": "a number of flights that other flights have fixed, or a "
                                         "confidence sequence",
    "Latin hypercube, Sobol'": "replicates randomised anew; one set alone has no honest bound",
    "faults": "strata weighted with the chances you give, and with what your tests leave open",
}  # fmt: skip

SURE_OF_WHAT = """\
A bound says how far these flights may mislead about the model. It says nothing of how far the model
may mislead about the field: wrong spreads, a wrong thrust curve or a fault that nobody thought of
are outside of it. Compare with your logs, and leave room."""

GLOSSARY = {
    "ballistic": "falling without thrust or parachute",
    "believed": "what the flight computer takes to be so; true is what the simulation knows",
    "budget": "what each source of error contributes to miss, speed and failure",
    "burn-out": "the end of a motor's thrust",
    "CEP": "circular error probable: half of the flights come down within it",
    "cg": "centre of gravity; it moves as propellant burns",
    "contact": "the first touch of any foot, or of the airframe",
    "dead reckoning": "navigation by the inertial unit alone: each error grows",
    "dispersion": "how places and speeds differ from flight to flight",
    "divert": "leaning out and back in to shed impulse that no throttle can",
    "ensemble": "flights of one scenario, each with its own draws",
    "gimbal": "the joint that lets thrust be pointed",
    "ignition height": "height of the feet at which the landing motor is commanded to light",
    "landing box": "where flights come down, as distances that hold shares of them",
    "levelled": "attitude found on the launch pad from the accelerometers",
    "mark": "the point that the vehicle is to land on",
    "miss": "distance of the landing point from the mark",
    "nominal": "with every number at its middle; no flight is",
    "outcome": "what became of a flight; each has one",
    "plumb": "attitude taken as upright, unmeasured",
    "R95": "95 % of the flights come down within it",
    "run": "number of a flight in its ensemble; run i of a seed is always the same flight",
    "sink rate": "speed downwards",
    "stand-off": "distance that people keep; the range safety officer sets it",
    "static margin": "how far the centre of pressure lies behind the cg, in diameters",
    "success": "what the scenario's section [success] asks for, all of it",
    "throttle": "what lets less than all of the thrust through",
    "tilt": "angle of the long axis from the vertical",
    "tip-off": "turning that the vehicle gets as it leaves the launch pad",
    "width": "flights in lock step; the results do not depend on it, bit for bit",
}

CAUTIONS = """\
Rockets that land on their motors can hurt people. A simulation is no better than its scenario, and
this one knows nothing of the crowd, the road or the dry grass.

- Local law, your club's code and the range safety officer decide where and whether you fly, and how
  far away people stand. Where a licence is needed, fly under somebody who holds it.
- Active guidance and landing near people are outside what the hobby codes foresee: take every
  published stand-off as a floor and add what `setdown hazard` predicts.
- Keep away from a live landing motor until it has burned or been made safe, also after a misfire
  and after a crash.
- Arm last, at the pad, with everyone else away; have a way to call it off.
- Have water and a beater at hand; do not fly over dry grass.
- Drop and test without propellant first. A figure from here is a reason to test, not a test."""
