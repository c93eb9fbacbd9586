#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What many scans come to on a cluster: hours, core hours, what stragglers, killed tasks and lost nodes cost. A simulation; same seed, same figures.

Usage: simulate.py [--scans 1e6] [--nodes 50] [--slots-per-node 32] [...]      --help lists all, with defaults

The model. A scan has so many triangles, log-normal; its seconds are base + slope * triangles (docs/scale.md has them as measured, for
one thread). Tasks of plan_scans.sh take so many scans each, in the order of the list; a slot takes the next task as it is free. Some
nodes are slow, with all they do. A task is killed at random; a node is lost at random, with the tasks on it, and comes back later.
Both are drawn from exponential distributions: they have no memory. A task that was interrupted is put in the queue again after a
delay, and goes on behind the last scan that it finished, since what is done is not done again: lost is the scan that it was at.
"""
import argparse
import bisect
import collections
import dataclasses
import heapq
import itertools
import math
import random


@dataclasses.dataclass
class Cluster:
    """Times in seconds."""
    nodes: int = 50
    slots_per_node: int = 32
    start_s: float = 2.0  # from a free slot to the first scan
    slow_share: float = 0.05  # of the nodes
    slow_factor: float = 2.0  # so much longer
    killed_per_hour: float = 0.001  # of each running task
    node_lost_per_hour: float = 1.0 / 2000.0
    node_back_s: float = 4 * 3600.0
    requeue_s: float = 120.0


@dataclasses.dataclass
class Outcome:
    """What the run came to."""
    makespan_s: float = 0.0
    busy_s: float = 0.0  # all slots together
    useful_s: float = 0.0  # of that, for scans that were finished there, as long as they would take on a node that is not slow
    lost_s: float = 0.0  # on scans that were interrupted
    finished: int = 0
    killed: int = 0
    nodes_lost: int = 0
    half_idle_s: float = 0.0  # at the end, with less than half of the slots at work


class Task:
    """Scans that are planned one after the other."""

    def __init__(self, seconds):
        self.ends = list(itertools.accumulate(seconds))
        self.next = 0  # the first that is not done

    def left_s(self):
        return self.ends[-1] - self.done_s()

    def done_s(self):
        return self.ends[self.next - 1] if self.next else 0.0

    def advance(self, worked_s):
        """Goes on by so much work; gives how much of it was finished, and how many scans."""
        before, first = self.done_s(), self.next
        self.next = bisect.bisect_right(self.ends, before + worked_s)
        return self.done_s() - before, self.next - first


class Run:
    """Events in the order of time; ties in the order in which they were drawn."""

    def __init__(self, cluster, tasks, seed):
        self.cluster, self.random, self.outcome = cluster, random.Random(seed), Outcome()
        self.queue, self.events, self.serial = collections.deque(tasks), [], itertools.count()
        self.left, self.working = len(tasks), {}  # working: slot -> (task, begun, serial of its end)
        self.free = [(node, slot) for slot in reversed(range(cluster.slots_per_node)) for node in reversed(range(cluster.nodes))]
        self.up = [True] * cluster.nodes
        self.factor = [cluster.slow_factor if self.random.random() < cluster.slow_share else 1.0 for _ in range(cluster.nodes)]
        self.half_since = None
        for node in range(cluster.nodes):
            self.draw_loss(node, 0.0)

    def at(self, time, what, which):
        serial = next(self.serial)
        heapq.heappush(self.events, (time, serial, what, which))
        return serial

    def until_s(self, per_hour):
        return self.random.expovariate(per_hour / 3600.0) if per_hour > 0.0 else math.inf

    def draw_loss(self, node, now):
        loss = now + self.until_s(self.cluster.node_lost_per_hour)
        if loss < math.inf:
            self.at(loss, "lost", node)

    def fill(self, now):
        while self.queue and self.free:
            place = self.free.pop()
            task = self.queue.popleft()
            length = self.cluster.start_s + task.left_s() * self.factor[place[0]]
            killed = self.until_s(self.cluster.killed_per_hour)
            self.working[place] = (task, now, self.at(now + min(length, killed), "end" if length <= killed else "killed", place))
        busy = len(self.working)
        if 2 * busy >= self.cluster.nodes * self.cluster.slots_per_node:
            self.half_since = None
        elif self.half_since is None:
            self.half_since = now

    def leave(self, place, now, whole):
        """The task at that place ends, by itself or not."""
        task, begun, _ = self.working.pop(place)
        factor = self.factor[place[0]]
        spent = max(0.0, now - begun - self.cluster.start_s)
        # What is whole is so whatever rounding says.
        finished, count = task.advance(math.inf if whole else spent / factor)
        self.outcome.busy_s += now - begun
        self.outcome.useful_s += finished
        self.outcome.finished += count
        self.outcome.lost_s += max(0.0, spent - finished * factor)
        if task.next == len(task.ends):
            self.left -= 1
        else:
            self.at(now + self.cluster.requeue_s, "back_in_queue", task)

    def step(self, now, serial, what, which):
        if what in ("end", "killed"):
            if which not in self.working or self.working[which][2] != serial:
                return  # its node was lost before
            self.outcome.killed += what == "killed"
            self.leave(which, now, what == "end")
            self.free.append(which)
        elif what == "lost":
            self.outcome.nodes_lost += 1
            self.up[which] = False
            for place in [place for place in self.working if place[0] == which]:
                self.leave(place, now, False)
            self.free = [place for place in self.free if place[0] != which]
            self.at(now + self.cluster.node_back_s, "back", which)
        elif what == "back":
            self.up[which] = True
            self.free += [(which, slot) for slot in range(self.cluster.slots_per_node)]
            self.draw_loss(which, now)
        else:
            self.queue.append(which)

    def run(self):
        now = 0.0
        self.fill(now)
        while self.left:
            now, serial, what, which = heapq.heappop(self.events)
            self.step(now, serial, what, which)
            self.fill(now)
        self.outcome.makespan_s = now
        self.outcome.half_idle_s = now - self.half_since if self.half_since is not None else 0.0
        return self.outcome


def simulate(cluster, scan_seconds, scans_per_task, seed=1):
    """Plans scans of those seconds, so many in a task."""
    tasks = [Task(scan_seconds[i:i + scans_per_task]) for i in range(0, len(scan_seconds), scans_per_task)]
    return Run(cluster, tasks, seed).run()


def draw_triangles(count, median, spread, seed):
    """Triangles of each scan. `spread`: standard deviation of their natural logarithm."""
    draw = random.Random(f"scans {seed}")
    return [draw.lognormvariate(math.log(median), spread) for _ in range(count)]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scans", type=float, default=1e6, help="default 1e6")
    parser.add_argument("--scans-per-task", type=int, default=100, help="-n of plan_scans.sh; default 100")
    parser.add_argument("--base-s", type=float, default=BASE_S, help=f"seconds of the smallest scan; default {BASE_S}")
    parser.add_argument("--s-per-million", type=float, default=S_PER_MILLION, help=f"more for each million triangles; default {S_PER_MILLION}")
    parser.add_argument("--median-triangles", type=float, default=200e3, help="default 200e3, a guess")
    parser.add_argument("--spread", type=float, default=0.8, help="of their natural logarithm; default 0.8, a guess")
    parser.add_argument("--mb-per-million", type=float, default=MB_PER_MILLION, help=f"of its plan's folder; default {MB_PER_MILLION}, and {BASE_MB} for none")
    parser.add_argument("--seed", type=int, default=1)
    for field in dataclasses.fields(Cluster):
        parser.add_argument("--" + field.name.replace("_", "-"), type=type(field.default), default=field.default, help=f"default {field.default:g}")
    given = parser.parse_args()
    cluster = Cluster(**{field.name: getattr(given, field.name) for field in dataclasses.fields(Cluster)})
    triangles = draw_triangles(int(given.scans), given.median_triangles, given.spread, given.seed)
    scans = [given.base_s + 1e-6 * given.s_per_million * count for count in triangles]
    outcome = simulate(cluster, scans, given.scans_per_task, given.seed)
    slots, total = cluster.nodes * cluster.slots_per_node, sum(scans)
    print(f"{len(scans):,} scans, {total / len(scans):.1f} s each on average ({max(scans):.0f} s the longest), {slots:,} slots on {cluster.nodes} nodes")
    print(f"done after {outcome.makespan_s / 3600:.1f} h; {total / 3600 / slots:.1f} h if nothing went wrong and all slots were even")
    print(f"{outcome.busy_s / 3600:,.0f} slot hours, of them {total / 3600:,.0f} for the scans themselves and {outcome.lost_s / 3600:,.1f} lost on scans that were interrupted")
    print(f"{outcome.killed} tasks killed, {outcome.nodes_lost} nodes lost; less than half of the slots at work for the last {outcome.half_idle_s / 3600:.1f} h")
    terabytes = 1e-6 * (BASE_MB * len(scans) + 1e-6 * given.mb_per_million * sum(triangles))
    print(f"about {terabytes:,.1f} TB in {len(scans) * FILES_PER_SCAN / 1e6:,.1f} million files")


# As measured (docs/scale.md).
BASE_S = 5.0
S_PER_MILLION = 32.0
BASE_MB = 3.0
MB_PER_MILLION = 170.0
FILES_PER_SCAN = 18

if __name__ == "__main__":
    main()
