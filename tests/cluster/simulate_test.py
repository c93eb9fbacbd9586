#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The simulation of tools/cluster against closed forms.

Usage: simulate_test.py TOOLS_CLUSTER_FOLDER
"""
import math
import pathlib
import random
import subprocess
import sys
import unittest

TOOLS = pathlib.Path(sys.argv[1]).resolve()
sys.dont_write_bytecode = True
sys.path.insert(0, str(TOOLS))
from simulate import Cluster, draw_triangles, simulate  # noqa: E402

QUIET = {"start_s": 0.0, "slow_share": 0.0, "killed_per_hour": 0.0, "node_lost_per_hour": 0.0}


class AgainstClosedForms(unittest.TestCase):
    def test_equal_tasks_go_in_rounds(self):
        """n equal tasks of s seconds on m slots: ceil(n / m) rounds. Exact."""
        for tasks, slots in ((1, 1), (7, 1), (7, 3), (8, 4), (9, 4), (3, 10)):
            outcome = simulate(Cluster(nodes=slots, slots_per_node=1, **QUIET), [2.0] * (5 * tasks), 5)
            self.assertAlmostEqual(outcome.makespan_s, math.ceil(tasks / slots) * 10.0, 9)
            self.assertAlmostEqual(outcome.busy_s, 10.0 * tasks, 9)
            self.assertEqual(outcome.finished, 5 * tasks)

    def test_list_scheduling_keeps_its_bounds(self):
        """Without failures: no less than total / m and the longest task; no more than total / m + (1 - 1 / m) longest (Graham 1969)."""
        draw = random.Random(3)
        for _ in range(200):
            slots, piece = draw.randint(1, 12), draw.randint(1, 6)
            scans = [draw.expovariate(0.1) for _ in range(draw.randint(1, 150))]
            tasks = [sum(scans[i:i + piece]) for i in range(0, len(scans), piece)]
            outcome = simulate(Cluster(nodes=slots, slots_per_node=1, **QUIET), scans, piece)
            even, longest = sum(scans) / slots, max(tasks)
            self.assertGreaterEqual(outcome.makespan_s, max(even, longest) * (1 - 1e-12))
            self.assertLessEqual(outcome.makespan_s, (even + (1 - 1 / slots) * longest) * (1 + 1e-12))
            self.assertAlmostEqual(outcome.useful_s, sum(scans), 6)
            self.assertAlmostEqual(outcome.busy_s, sum(scans), 6)

    def test_graham_s_worst_case(self):
        """m (m - 1) tasks of 1 and then one of m on m slots: 2 m - 1, where m would do (Graham 1969). Exact."""
        for m in (2, 3, 5, 8):
            outcome = simulate(Cluster(nodes=1, slots_per_node=m, **QUIET), [1.0] * (m * (m - 1)) + [float(m)], 1)
            self.assertAlmostEqual(outcome.makespan_s, 2 * m - 1, 9)

    def test_killed_at_random_it_takes_as_long_as_renewal_theory_says(self):
        """A scan of t seconds that starts anew whenever it is killed, at a rate r: (exp(r t) - 1) / r on average (Ross, Introduction to Probability Models:
        the waiting time for a gap of t in a Poisson process), and exp(r t) - 1 kills. Within four standard errors of 20,000."""
        rate, seconds, count = 1.0 / 3600.0, 3600.0, 20_000
        outcome = simulate(Cluster(nodes=1, slots_per_node=1, **{**QUIET, "killed_per_hour": 1.0}, requeue_s=0.0), [seconds] * count, 1, seed=11)
        # Variance of that wait: (exp(2 r t) - 2 r t exp(r t) - 1) / r^2, from its Laplace transform.
        deviation = math.sqrt(math.exp(2.0) - 2.0 * math.exp(1.0) - 1.0) / rate
        self.assertLess(abs(outcome.makespan_s / count - (math.e - 1.0) / rate), 4.0 * deviation / math.sqrt(count))
        kills_deviation = math.sqrt(math.exp(1.0) * (math.exp(1.0) - 1.0))  # geometric
        self.assertLess(abs(outcome.killed / count - (math.e - 1.0)), 4.0 * kills_deviation / math.sqrt(count))
        self.assertAlmostEqual(outcome.busy_s, outcome.useful_s + outcome.lost_s, 0)

    def test_what_is_done_is_kept(self):
        """The same hours cut into 3,600 scans of a second: a kill without memory falls evenly on the second that it hits, and costs half of it on average;
        within four standard errors of an even share (1 / sqrt(12))."""
        outcome = simulate(Cluster(nodes=1, slots_per_node=1, **{**QUIET, "killed_per_hour": 4.0}, requeue_s=0.0), [1.0] * 3600 * 400, 3600, seed=5)
        self.assertGreater(outcome.killed, 1000)
        self.assertLess(abs(outcome.lost_s / outcome.killed - 0.5), 4.0 / math.sqrt(12.0 * outcome.killed) + 1e-3)
        self.assertEqual(outcome.finished, 3600 * 400)

    def test_nodes_are_there_for_their_share_of_the_time(self):
        """Up for a mean of u hours, then down for d: up u / (u + d) of the time (alternating renewal), so that much slower. One slot, scans of a second."""
        cluster = Cluster(nodes=1, slots_per_node=1, **{**QUIET, "node_lost_per_hour": 1.0}, node_back_s=1800.0, requeue_s=0.0)
        outcome = simulate(cluster, [1.0] * 3600 * 1500, 3600 * 1500, seed=2)
        hours = outcome.makespan_s / 3600
        # Losses in 1,500 hours of work: Poisson, so within four of its deviations; each costs half an hour, and half a scan.
        self.assertLess(abs(outcome.nodes_lost - 1500), 4 * math.sqrt(1500))
        self.assertAlmostEqual(hours, 1500 + 0.5 * outcome.nodes_lost + outcome.lost_s / 3600, 6)
        self.assertLess(abs(1500 / hours - 2 / 3), 0.03)

    def test_slow_nodes_and_starts(self):
        """All nodes slow by three: three times as long; each task starts after s seconds. Exact."""
        cluster = Cluster(nodes=2, slots_per_node=2, **{**QUIET, "slow_share": 1.0, "start_s": 7.0}, slow_factor=3.0)
        outcome = simulate(cluster, [1.0] * 80, 10)
        self.assertAlmostEqual(outcome.makespan_s, 2 * (7.0 + 30.0), 9)
        self.assertAlmostEqual(outcome.useful_s, 80.0, 9)

    def test_triangles_are_log_normal(self):
        """Mean of a log-normal: median exp(spread^2 / 2); within four standard errors."""
        scans = draw_triangles(40_000, 5.0, 0.5, 9)
        mean = 5.0 * math.exp(0.125)
        self.assertLess(abs(sum(scans) / len(scans) - mean), 4.0 * mean * math.sqrt(math.expm1(0.25) / len(scans)))

    def test_same_seed_same_words(self):
        call = [sys.executable, "-B", str(TOOLS / "simulate.py"), "--scans", "2000", "--scans-per-task", "10", "--nodes", "3", "--slots-per-node", "4",
                "--killed-per-hour", "2", "--node-lost-per-hour", "0.5"]
        first, second, other = (subprocess.run([*call, "--seed", seed], capture_output=True, text=True, check=True).stdout for seed in ("1", "1", "2"))
        self.assertEqual(first, second)
        self.assertNotEqual(first, other)
        self.assertIn("2,000 scans", first)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], "-v"])
