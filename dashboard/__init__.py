"""What people see and touch: the Board for the class, the Desk for the teacher."""

from dashboard.app import create_app
from dashboard.rig_port import RigPort
from dashboard.serving import DashboardServer, make_server, serve

__all__ = ["DashboardServer", "RigPort", "create_app", "make_server", "serve"]
