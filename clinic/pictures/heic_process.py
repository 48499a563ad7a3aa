"""
Run as a program: reads a HEIC file from its input and writes the pixels of its picture.

The reader is a library in C, and a file made to harm can end the process it runs in. So it gets one
of its own, with limits, and neither a database nor a secret. See `clinic.pictures.heic`.
"""

import base64
import io
import json
import resource
import sys

MEMORY, SECONDS = 1536 * 1024 * 1024, 20
TOO_MANY_PIXELS = 3


def main(most_pixels: int) -> int:
    """One line of JSON {mode, width, height, exif, icc_profile}, then the pixels row by row."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    from pi_heif import HeifImageFile, options

    options.THUMBNAILS = options.DEPTH_IMAGES = options.AUX_IMAGES = False
    image = HeifImageFile(io.BytesIO(sys.stdin.buffer.read()))
    if image.width * image.height > most_pixels:
        return TOO_MANY_PIXELS
    image.load()
    found = {"mode": image.mode, "width": image.width, "height": image.height}
    for name in ("exif", "icc_profile"):
        found[name] = base64.b64encode(image.info.get(name) or b"").decode()
    sys.stdout.buffer.write(json.dumps(found).encode() + b"\n")
    sys.stdout.buffer.write(image.tobytes())
    return 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1])))
