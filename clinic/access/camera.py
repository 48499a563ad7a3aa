"""
Pages with a camera: what they may do and no other page may.

The permissions policy lets them ask for the camera; everywhere else it is off, whatever a script
wants. Those that read codes may also compile WebAssembly, of which the reader is made.
"""

from collections.abc import Callable
from functools import wraps

from csp.constants import WASM_UNSAFE_EVAL
from csp.decorators import csp_update

HEADER = "Permissions-Policy"
NO_CAMERA = "camera=(), microphone=(), geolocation=()"
OWN_CAMERA = "camera=(self), microphone=(), geolocation=()"


def uses_camera(view: Callable) -> Callable:
    """Let the view's page take pictures with the camera."""

    @wraps(view)
    def with_camera(*args, **kwargs):
        response = view(*args, **kwargs)
        response[HEADER] = OWN_CAMERA
        return response

    return with_camera


def reads_codes(view: Callable) -> Callable:
    """Let the view's page read codes with the camera (templates/scanning/_field.html)."""
    return csp_update({"script-src": [WASM_UNSAFE_EVAL]})(uses_camera(view))
