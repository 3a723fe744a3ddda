"""Runs a program on a terminal of its own and types an answer when it asks: `answer.py ANSWER PROGRAM WORDS…`.

Prints what the terminal showed and the exit code.
"""

import os
import pty
import sys


def main(answer, words):
    child, terminal = pty.fork()
    if child == 0:
        os.execv(words[0], words)
    shown = b""
    asked = False
    while True:
        try:
            more = os.read(terminal, 4096)
        except OSError:  # The program has ended and closed its side.
            break
        if not more:
            break
        shown += more
        if not asked and b"[y/N]" in shown:
            os.write(terminal, answer.encode() + b"\n")
            asked = True
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    print(shown.decode(), f"exit code {code}", sep="\n")


main(sys.argv[1], sys.argv[2:])
