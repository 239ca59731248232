"""The command line `rungwright`."""


def main() -> None:
    """Run the command line; the exit code is 0 for yes, 1 for no, 2 for input that cannot be used."""
    # Only here, so that importing the package stays cheap.
    from rungwright.cli.app import app

    app()
