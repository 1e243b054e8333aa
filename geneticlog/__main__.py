"""``python -m geneticlog``."""

import sys

from geneticlog.faces.cli import main

sys.exit(main())
