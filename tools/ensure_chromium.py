"""Install Debian's chromium for the browser tests where it is missing and this user may.

Elsewhere the browser tests are skipped, and pytest says so at its end.
"""

import os
import shutil
import subprocess


def main():
    if shutil.which("chromium") or shutil.which("apt-get") is None or os.geteuid() != 0:
        return
    print("Installing Debian's chromium for the browser tests.")
    if subprocess.run(["apt-get", "update", "-qq"]).returncode == 0:
        subprocess.run(["apt-get", "install", "-qq", "-y", "--no-install-recommends", "chromium"],
                       env={**os.environ, "DEBIAN_FRONTEND": "noninteractive"})


if __name__ == "__main__":
    main()
