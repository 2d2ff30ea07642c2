"""``python -m pmsched`` runs the command line."""

from pmsched.cli.main import main

main()
