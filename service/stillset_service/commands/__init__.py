"""What the command line does, one module for each kind of work; ``cli.py`` only names the commands."""
