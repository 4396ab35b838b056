"""Object storage on this machine."""

import subprocess
import sys
from collections.abc import Iterator

import pytest

SERVER = """
import threading
from moto.server import ThreadedMotoServer
server = ThreadedMotoServer("127.0.0.1", 0, verbose=False)
server.start()
print(server.get_host_and_port()[1], flush=True)
threading.Event().wait()
"""


@pytest.fixture(scope="session")
def bucket() -> Iterator[str]:
    """A bucket of moto's server, in a process of its own: object storage as its clients see it."""
    server = subprocess.Popen(
        [sys.executable, "-c", SERVER], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    assert server.stdout is not None
    port = int(server.stdout.readline())
    settings = {
        "AWS_ENDPOINT_URL": f"http://127.0.0.1:{port}", "AWS_ACCESS_KEY_ID": "made", "AWS_SECRET_ACCESS_KEY": "up",
        "AWS_DEFAULT_REGION": "us-east-1",
    }  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        for name, value in settings.items():
            patch.setenv(name, value)
        import s3fs

        s3fs.S3FileSystem().mkdir("rides")
        yield "s3://rides"
    server.kill()
    server.communicate()
