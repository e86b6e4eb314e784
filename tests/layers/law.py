# SPDX-License-Identifier: GPL-3.0-or-later
"""The law of docs/layers.md: reads its two tables and holds the includes of src/ against them."""
import re

# Headers of C17 and of POSIX.1-2008 that any module may use.
SYSTEM = set("""assert complex ctype errno fenv float inttypes iso646 limits locale math setjmp signal stdalign stdarg
stdatomic stdbool stddef stdint stdio stdlib stdnoreturn string tgmath threads time uchar wchar wctype
arpa/inet dirent dlfcn fcntl ftw getopt glob grp langinfo libgen netdb netinet/in poll pthread pwd regex sched semaphore
spawn strings sys/file sys/mman sys/random sys/resource sys/select sys/socket sys/stat sys/statvfs sys/time sys/times
sys/types sys/un sys/utsname sys/wait syslog termios unistd""".split())

INCLUDE = re.compile(r'\s*#\s*include\s*([<"])([^>"]+)[>"]')


class Rules:
    def __init__(self):
        self.layer = {}  # module: number of its layer
        self.may = {}  # module: modules it may include
        self.owner = {}  # header, or folder of headers ending in '/': module


def rows(text, title):
    """The body of the table whose second column's heading is `title`, cell by cell."""
    found, inside = [], False
    for line in text.splitlines():
        cells = [cell.strip().strip("`") for cell in line.strip().strip("|").split("|")]
        if not line.startswith("|"):
            inside = False
        elif len(cells) > 1 and cells[1] == title:
            inside = True
        elif inside and not set(cells[0]) <= set("-: "):
            found.append(cells)
    return found


def circle(may):
    """A module that reaches itself along the arrows, or None."""
    for start in may:
        reached, todo = set(), list(may[start])
        while todo:
            module = todo.pop()
            if module == start:
                return start
            if module not in reached:
                reached.add(module)
                todo += may.get(module, ())
    return None


def read(page):
    """What is wrong with the page itself, and its rules."""
    text, found, rules = page.read_text(encoding="utf-8"), [], Rules()
    modules = rows(text, "module")
    for layer, module, *_ in modules:
        rules.layer[module] = int(layer[1:])
    for _, module, _, may in modules:
        rules.may[module] = set()
        for word in may.replace("-", "").replace(",", " ").split():
            if re.fullmatch(r"L\d", word):
                rules.may[module] |= {m for m, number in rules.layer.items() if number == int(word[1:])} - {module}
            elif word in rules.layer:
                rules.may[module].add(word)
            else:
                found.append("docs/layers.md: the row of %s names %s, which has no row" % (module, word))
        for other in sorted(rules.may[module]):
            if rules.layer[other] > rules.layer[module]:
                found.append("docs/layers.md: %s may include %s of a higher layer" % (module, other))
    for _, owner, headers in rows(text, "owner"):
        for header in headers.replace(",", " ").split():
            rules.owner[header] = owner
    if not rules.may or not rules.owner:
        found.append("docs/layers.md: a table is missing")
    if not found and circle(rules.may):
        found.append("docs/layers.md: the law holds a circle through %s" % circle(rules.may))
    return found, rules


def judge(rules, module, bracket, header):
    """What is wrong with one include, or None."""
    first = header.split("/")[0]
    owner = rules.owner.get(header) or rules.owner.get(first + "/" if "/" in header else None)
    if owner:
        return None if owner == module else "<%s> belongs to %s alone" % (header, owner)
    if bracket == "<":
        known = header[:-2] in SYSTEM if header.endswith(".h") else False
        return None if known else "<%s> is a library that nobody owns in docs/layers.md" % header
    if first == module or first in rules.may.get(module, ()):
        return None
    if first in rules.layer:
        return "%s may not include %s (\"%s\")" % (module, first, header)
    return "\"%s\" is not written from src/" % header


def check_includes(root, rules):
    found = []
    for folder in sorted(path for path in (root / "src").iterdir() if path.is_dir()):
        if folder.name not in rules.layer:
            found.append("src/%s has no row in docs/layers.md" % folder.name)
            continue
        for path in sorted(folder.rglob("*.[ch]")):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                match = INCLUDE.match(line)
                wrong = match and judge(rules, folder.name, *match.groups())
                if wrong:
                    found.append("%s:%d: %s" % (path.relative_to(root), number, wrong))
    return found
