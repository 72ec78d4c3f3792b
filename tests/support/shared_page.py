"""A page shared as with --share, but on this machine alone: python shared_page.py FILE PORT HEADER_SECONDS."""

import sys
from pathlib import Path

from bankwright.web import crowd, serve

if __name__ == "__main__":
    serve.EVERYWHERE = "127.0.0.1"
    crowd.HEADER = float(sys.argv[3])
    serve.serve(Path(sys.argv[1]), int(sys.argv[2]), True, lambda line: print(line, flush=True))
