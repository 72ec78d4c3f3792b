"""`python -m bankwright`: the same as the command `bankwright`."""

from bankwright.cli.main import main

main()
