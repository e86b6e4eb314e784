# SPDX-License-Identifier: GPL-3.0-or-later
"""A PostgreSQL of one's own in a folder, reached by a socket only. Debian's refuses to run as root: then its own user
runs it."""
import glob
import os
import shutil
import subprocess


class Cluster:
    def __init__(self, folder):
        self.folder = os.path.join(folder, "pg")
        found = sorted(glob.glob("/usr/lib/postgresql/*/bin/initdb"))
        self.bin = os.path.dirname(found[-1]) if found else None
        self.user = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []

    def run(self, name, *arguments):
        subprocess.run(self.user + [os.path.join(self.bin, name), *arguments], check=True, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL, cwd="/")

    def start(self):
        """Its address, None when there is no PostgreSQL."""
        if not self.bin:
            return None
        os.makedirs(self.folder)
        os.chmod(os.path.dirname(self.folder), 0o755)
        if self.user:
            shutil.chown(self.folder, "postgres")
        self.run("initdb", "-D", self.folder + "/data", "-A", "trust", "-U", "postgres", "--no-sync")
        self.run("pg_ctl", "-D", self.folder + "/data", "-w", "-l", self.folder + "/log", "-o",
                 "-k %s -c listen_addresses=''" % self.folder, "start")
        return "postgres://postgres@/postgres?host=" + self.folder

    def stop(self):
        if os.path.isdir(self.folder + "/data"):
            self.run("pg_ctl", "-D", self.folder + "/data", "-m", "fast", "stop")
