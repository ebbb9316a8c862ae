"""Run the command line with ``python -m rhythmtrain``."""

from rhythmtrain.cli.main import main

if __name__ == "__main__":
    main()
