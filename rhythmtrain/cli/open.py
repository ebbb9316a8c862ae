"""``rhythmtrain open``: everything on a page in the browser, on this machine."""

import click


@click.command(name="open")
@click.option("--port", type=int, default=0, help="0 takes a free one.")
@click.option("--no-browser", is_flag=True, help="Only print the address.")
def open_page(*, port: int, no_browser: bool) -> None:
    """Open the page in your browser; Ctrl-C stops it.

    \b
    Example:  rhythmtrain open
    """
    from rhythmtrain.page.serve import serve  # noqa: PLC0415

    serve(click.echo, port=port, browser=not no_browser)
