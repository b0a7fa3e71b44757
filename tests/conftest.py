"""What all tests share."""

import os

# one width, so that the suite compiles the flight kernel once; the bits are the same at any
os.environ.setdefault("SETDOWN_WIDTH", "8")
