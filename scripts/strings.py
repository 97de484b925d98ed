#!/usr/bin/env python3
"""Lists every text of the program that a person may read, as `file:line: text`, to be read once in a row.

    python3 scripts/strings.py [PATH…]         all crates and pages, or those files and folders

Of Rust: string literals outside of tests, and the doc comments of the command line, which are its help. Of the pages
of paper (assets/*.typ): string literals and lines of text. Left out: comments, keys, paths, and literals that hold
nothing but places for values. An escaped end of line is taken out as the compiler does.
"""

import re
import subprocess
import sys

TOKEN = re.compile(
    r"""(?P<help>///[^\n]*)|(?P<comment>//[^\n]*)|(?P<block>/\*.*?\*/)
    |(?P<raw>b?r(?P<hash>\#*)"(?P<rawtext>.*?)"(?P=hash))
    |(?P<string>b?"(?P<text>(?:[^"\\]|\\.)*)")
    |(?P<char>'(?:[^'\\]|\\.[^']*)')""",
    re.S | re.X,
)
ESCAPES = {"n": " / ", "t": " ", '"': '"', "\\": "\\", "'": "'", "0": ""}


def plain(text):
    text = re.sub(r"\\\n\s*", "", text)
    text = re.sub(r"\\u\{([0-9a-fA-F]+)\}", lambda found: chr(int(found[1], 16)), text)
    text = re.sub(r"\\(.)", lambda found: ESCAPES.get(found[1], found[0]), text, flags=re.S)
    return re.sub(r"\s+", " ", text).strip()


def is_read_by_a_person(text):
    words = re.sub(r"\{[^{}]*\}", "", text)
    if not re.search(r"[^\W\d_]{2}", words):
        return False
    # One lower-case word with no blank is a key, a path or an option unless it is all letters.
    return " " in text or not re.fullmatch(r"[\w./*:#{}+-]*[_./*:#][\w./*:#{}+-]*", text)


def without_tests(source):
    """Blanks items behind `#[cfg(test)]`, so that the numbers of lines stay."""
    while found := re.search(r"#\[cfg\(test\)\]\s*(?:#\[[^\]]*\]\s*)*(?:pub(?:\([^)]*\))?\s+)?(?:mod|fn|impl|const|use)\b", source):
        brace, semicolon = source.find("{", found.end()), source.find(";", found.end())
        end = semicolon + 1
        if 0 <= brace and (semicolon < 0 or brace < semicolon):
            depth, place = 0, brace
            while place < len(source):
                token = TOKEN.match(source, place)
                if token:
                    place = token.end()
                    continue
                depth += {"{": 1, "}": -1}.get(source[place], 0)
                place += 1
                if depth == 0:
                    break
            end = place
        source = source[: found.start()] + re.sub(r"[^\n]", " ", source[found.start() : end]) + source[end:]
    return source


def of_rust(path, source):
    source = without_tests(source)
    helped = "/arguments" in path
    for token in TOKEN.finditer(source):
        line = source.count("\n", 0, token.start()) + 1
        if token["help"]:
            if helped:
                yield line, token["help"][3:].strip()
        elif token["string"] or token["raw"]:
            before = source[: token.start()].rstrip()
            if re.search(r"(reason|path|cfg|feature|rename|serde)\s*=\s*$|include_(str|bytes)!\($", before):
                continue
            text = token["rawtext"] if token["raw"] else token["text"]
            text = plain(text)
            if is_read_by_a_person(text):
                yield line, text


def of_page(source):
    for number, line in enumerate(source.splitlines(), 1):
        line = re.sub(r"(?<!:)//.*", "", line)
        for text in re.findall(r'"((?:[^"\\]|\\.)*)"|\[([^\[\]]+)\]', line):
            text = plain(text[0] or text[1])
            if is_read_by_a_person(text):
                yield number, text


def main():
    given = sys.argv[1:] or ["crates/*/src/**", "crates/*/src/*", "assets/*.typ"]
    names = subprocess.run(["git", "ls-files", "--", *(f":(glob){name}" if "*" in name else name for name in given)],
                           capture_output=True, text=True, check=True).stdout.split("\n")
    for name in sorted(set(names)):
        if name.endswith(".typ"):
            found = of_page(open(name, encoding="utf-8").read())
        elif name.endswith(".rs") and not re.search(r"(^|/|_)tests(\.rs$|/)|crates/simulate/|/benches/|/examples/", name):
            found = of_rust(name, open(name, encoding="utf-8").read())
        else:
            continue
        for line, text in found:
            print(f"{name}:{line}: {text}")


if __name__ == "__main__":
    main()
