"""``python -m geneticlog``."""

import sys

from geneticlog.faces.app.cli import main

sys.exit(main())
