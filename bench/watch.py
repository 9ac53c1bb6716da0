"""`python watch.py COMMAND...`: run a command, then print `usage CPU_S PEAK_MB` as stderr's last line."""

from __future__ import annotations

import subprocess
import sys


def main() -> int:
    """The command's exit code. CPU and memory are `-` where the system has no `resource` module (Windows)."""
    code = subprocess.run(sys.argv[1:], check=False).returncode
    try:
        import resource
    except ImportError:
        print("usage - -", file=sys.stderr)
        return code
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    # Linux counts ru_maxrss in KiB, macOS in bytes.
    peak_mb = used.ru_maxrss / (1024 if sys.platform.startswith("linux") else 1024**2)
    print(f"usage {used.ru_utime + used.ru_stime:.3f} {peak_mb:.1f}", file=sys.stderr)
    return code


if __name__ == "__main__":
    sys.exit(main())
