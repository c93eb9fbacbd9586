# SPDX-License-Identifier: GPL-3.0-or-later
"""Completion in bash, zsh and fish, and the manual page: what the shells themselves make of them.

    shell_files_test.py PROGRAM
"""
import json
import os
import re
import subprocess
import sys
import tempfile
import unittest

PROGRAM = os.path.abspath(sys.argv.pop(1))


def made(form):
    return subprocess.run([PROGRAM, "--list-options", form], check=True, capture_output=True, text=True).stdout


TABLE = json.loads(made("json"))


def options_of(command):
    return {"--" + o["name"] for o in TABLE["options"] if command in o["commands"] and not o["positional"]}


class ShellFiles(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name
        for name in ("part one.stl", "parts.toml"):
            open(os.path.join(self.folder, name), "w").close()

    def file(self, form, name=None):
        path = os.path.join(self.folder, "_" + form if name is None else name)
        with open(path, "w") as out:
            out.write(made(form))
        return path

    def shell(self, arguments, script, **more):
        done = subprocess.run([*arguments, script], capture_output=True, text=True, cwd=self.folder, **more)
        self.assertEqual("", done.stderr)
        return done.stdout.splitlines()

    def bash(self, *words):
        """What bash offers for the last word."""
        script = (f"source {self.file('bash')}; COMP_WORDS=({' '.join(repr(w) for w in words)}); COMP_CWORD={len(words) - 1};"
                  " _cavigram; printf '%s\\n' \"${COMPREPLY[@]}\"")
        return set(self.shell(["bash", "--norc", "-c"], script))

    def fish(self, line):
        script = f"source {self.file('fish')}; complete -C '{line}'"
        return {l.split("\t")[0] for l in self.shell(["fish", "--no-config", "-c"], script, env={**os.environ, "HOME": self.folder})}

    def test_bash_offers_what_the_table_holds(self):
        firsts = {name.split()[0] for name in TABLE["commands"]}
        self.assertEqual(firsts | {"--help", "--version"}, self.bash("cavigram", ""))
        for command in TABLE["commands"]:
            self.assertEqual(options_of(command) | {"--help"}, self.bash("cavigram", *command.split(), "--"), command)

    def test_bash_offers_words_files_and_nothing_for_numbers(self):
        self.assertEqual({"mm", "m"}, self.bash("cavigram", "inspect", "--units", "m"))
        self.assertIn("parts.toml", self.bash("cavigram", "plan", "--job", "par"))
        self.assertEqual({""}, self.bash("cavigram", "plan", "--density", ""))
        self.assertIn("parts.toml", self.bash("cavigram", "plan", "parts"))

    def test_fish_offers_what_the_table_holds(self):
        for command in TABLE["commands"]:
            offered = {w for w in self.fish(f"cavigram {command} --") if w.startswith("--")}
            self.assertEqual(options_of(command), {re.sub("=.*", "", w) for w in offered}, command)
        self.assertEqual({"tared", "direct"}, self.fish("cavigram weigh --weighing "))
        self.assertIn("orient", self.fish("cavigram o"))
        self.assertIn("undo", self.fish("cavigram tally "))

    def test_zsh_reads_it_and_every_option_stands_in_its_command(self):
        path = self.file("zsh", "_cavigram")
        self.shell(["zsh", "-f", "-n"], path)
        # The shell's own parsing of the specifications: _arguments complains about a malformed one.
        script = ("autoload -Uz compinit; fpath=(%s $fpath); compinit -u -D; zmodload zsh/computil; "
                  "(( $+functions[_cavigram] )) && print yes") % self.folder
        self.assertEqual(["yes"], self.shell(["zsh", "-f", "-c"], script, env={**os.environ, "HOME": self.folder}))
        text = made("zsh")
        for option in TABLE["options"]:
            if not option["positional"]:
                self.assertEqual(len(option["commands"]), len(re.findall(r"'\*?--%s\[" % option["name"], text)), option["name"])

    def test_the_manual_page_is_sound_and_whole(self):
        page = subprocess.run(["groff", "-man", "-Tascii", "-ww", "-P-c", "-P-b", "-P-u", "-P-o"], input=made("man"), capture_output=True, text=True)
        self.assertEqual("", page.stderr)
        for command in TABLE["commands"]:
            self.assertRegex(page.stdout, rf"(?m)^ +{command}\b")
        for option in TABLE["options"]:
            if not option["positional"]:
                self.assertRegex(page.stdout, rf"(?m)^ +--{option['name']}\b")
        for status in ("0", "1", "2", "3", "4", "130"):
            self.assertRegex(page.stdout, rf"(?m)^ +{status}\b")


if __name__ == "__main__":
    unittest.main()
