"""Object storage on this machine."""

import socket
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session")
def bucket() -> Iterator[str]:
    """A bucket of moto's server, in a process of its own: object storage as its clients see it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    settings = {
        "AWS_ENDPOINT_URL": f"http://127.0.0.1:{port}", "AWS_ACCESS_KEY_ID": "made", "AWS_SECRET_ACCESS_KEY": "up",
        "AWS_DEFAULT_REGION": "us-east-1",
    }  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        for name, value in settings.items():
            patch.setenv(name, value)
        import s3fs

        for _ in range(100):
            with socket.socket() as tried:
                if not tried.connect_ex(("127.0.0.1", port)):
                    break
            time.sleep(0.1)
        s3fs.S3FileSystem().mkdir("rides")
        yield "s3://rides"
    server.terminate()
    server.wait()
