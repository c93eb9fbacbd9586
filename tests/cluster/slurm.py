# SPDX-License-Identifier: GPL-3.0-or-later
"""A Slurm cluster of one node in a temporary folder, for a test: munged, slurmctld and slurmd, started here and ended here."""
import os
import pathlib
import pwd
import shutil
import signal
import socket
import subprocess
import time

NEEDED = ("munged", "slurmctld", "slurmd", "sbatch", "scontrol", "squeue", "scancel")
PATH = os.environ.get("PATH", "") + ":/usr/sbin:/sbin"


def missing():
    """Programs that are not there."""
    return [name for name in NEEDED if shutil.which(name, path=PATH) is None]


def free_ports(count):
    """Ports that nobody has at this moment."""
    sockets = [socket.socket() for _ in range(count)]
    for one in sockets:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in sockets]
    for one in sockets:
        one.close()
    return ports


class Slurm:
    """One controller, one node with `cpus` places."""

    def __init__(self, folder, cpus=2):
        self.folder = pathlib.Path(folder)
        self.daemons = {}
        for name in ("state", "spool", "log", "munge"):
            (self.folder / name).mkdir()
        (self.folder / "munge").chmod(0o755)
        key = self.folder / "munge" / "key"
        key.write_bytes(os.urandom(128))
        key.chmod(0o600)
        self.host = socket.gethostname().split(".")[0]
        self.user = pwd.getpwuid(os.getuid()).pw_name
        control, node = free_ports(2)
        (self.folder / "slurm.conf").write_text(f"""
ClusterName=test
SlurmctldHost={self.host}(127.0.0.1)
SlurmUser={self.user}
SlurmdUser={self.user}
AuthType=auth/munge
AuthInfo=socket={self.folder}/munge/socket,cred_expire=5
SlurmctldPort={control}
SlurmdPort={node}
SlurmctldPidFile={self.folder}/slurmctld.pid
SlurmdPidFile={self.folder}/slurmd.pid
StateSaveLocation={self.folder}/state
SlurmdSpoolDir={self.folder}/spool
SlurmctldLogFile={self.folder}/log/slurmctld
SlurmdLogFile={self.folder}/log/slurmd
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerType=sched/builtin
SchedulerParameters=batch_sched_delay=0,sched_min_interval=0
MpiDefault=none
JobRequeue=1
ReturnToService=2
KillWait=2
MinJobAge=3600
MaxArraySize=5
SlurmdParameters=config_overrides
NodeName={self.host} NodeAddr=127.0.0.1 CPUs={cpus} State=UNKNOWN
PartitionName=all Nodes={self.host} Default=YES MaxTime=INFINITE State=UP
""")
        # Nothing here asks for cgroups; where none are mounted, looking for their version would end slurmd.
        (self.folder / "cgroup.conf").write_text("CgroupPlugin=cgroup/v1\n")
        self.env = {**os.environ, "PATH": PATH, "SLURM_CONF": str(self.folder / "slurm.conf")}
        try:
            self.start("munged", "--foreground", "--force", f"--socket={self.folder}/munge/socket", f"--key-file={key}",
                       f"--log-file={self.folder}/munge/log", f"--pid-file={self.folder}/munge/pid", f"--seed-file={self.folder}/munge/seed")
            self.until(lambda: (self.folder / "munge" / "socket").exists(), "munged does not listen")
            self.start("slurmctld", "-D", "-c")
            self.start("slurmd", "-D", "-N", self.host)
            self.until(lambda: "idle" in self.run("sinfo", "-h", "-o", "%T").stdout, "the node does not come up")
        except BaseException:
            self.end()
            raise

    def start(self, name, *words):
        with open(self.folder / "log" / f"{name}.out", "ab") as log:
            self.daemons[name] = subprocess.Popen([shutil.which(name, path=PATH), *words], env=self.env, stdout=log, stderr=log, stdin=subprocess.DEVNULL)

    def run(self, *words, **options):
        return subprocess.run(words, env=self.env, capture_output=True, text=True, timeout=60, **options)

    def until(self, true, what, within=60):
        end = time.monotonic() + within
        while time.monotonic() < end:
            if answer := true():
                return answer
            time.sleep(0.1)
        raise AssertionError(f"{what}\n{self.said()}")

    def said(self):
        """The ends of all logs."""
        return "\n".join(f"--- {path.name}\n" + "\n".join(path.read_text(errors="replace").splitlines()[-15:])
                         for path in [*sorted((self.folder / "log").iterdir()), self.folder / "munge" / "log"] if path.exists())

    def running(self, job):
        """Tasks of arrays (their numbers, with commas) that run now: array, place in it, number as a job of its own."""
        listed = self.run("squeue", "-h", "-r", "-j", job, "-t", "RUNNING", "-o", "%F %K %A").stdout.split("\n")
        return [(array, int(place), number) for array, place, number in (line.split() for line in listed if line)]

    def wait(self, job, within):
        self.until(lambda: not self.run("squeue", "-h", "-j", job).stdout.strip(), f"{job} does not end:\n{self.run('squeue').stdout}", within)

    def end(self):
        for name in ("slurmd", "slurmctld", "munged"):
            process = self.daemons.pop(name, None)
            if process is None:
                continue
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(timeout=15)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
