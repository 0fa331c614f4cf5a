"""`python -m tripmargin.cli` is the same as `tripmargin`."""

from tripmargin.cli.main import main

main(prog_name="tripmargin")
