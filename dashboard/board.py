"""The Board: what the class sees. Read-only."""

from flask import Blueprint, render_template

from dashboard.assets import plotly_address

bp = Blueprint("board", __name__)


@bp.get("/")
def board() -> str:
    """The page; everything on it arrives through the live stream."""
    return render_template("board.html", plotly_address=plotly_address())
