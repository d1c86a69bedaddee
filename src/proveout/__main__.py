"""python -m proveout"""

import sys

from proveout.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
