"""
Pages that read codes with the camera: what they may do and no other page may.

The content policy lets them compile WebAssembly, of which the reader is made; the permissions
policy lets them ask for the camera. Everywhere else the camera is off, whatever a script wants.
"""

from collections.abc import Callable
from functools import wraps

from csp.constants import WASM_UNSAFE_EVAL
from csp.decorators import csp_update

HEADER = "Permissions-Policy"
NO_CAMERA = "camera=(), microphone=(), geolocation=()"
OWN_CAMERA = "camera=(self), microphone=(), geolocation=()"


def reads_codes(view: Callable) -> Callable:
    """Let the view's page read codes with the camera (templates/scanning/_field.html)."""

    @csp_update({"script-src": [WASM_UNSAFE_EVAL]})
    @wraps(view)
    def with_camera(*args, **kwargs):
        response = view(*args, **kwargs)
        response[HEADER] = OWN_CAMERA
        return response

    return with_camera
