"""Opens a page in a real browser without a head: what it made of the drawings, and how the page prints."""

import os
import re
import subprocess

from workshop import program

# Every label where it was put: inside its drawing, meeting no other; nothing wider than the window.
PROBE = """<script>
const out=[];let count=0;
for(const svg of document.querySelectorAll('svg')){const frame=svg.getBoundingClientRect();
const boxes=[...svg.querySelectorAll('text')].map(t=>({s:t.textContent,b:t.getBoundingClientRect()}));count+=boxes.length;
for(const {s,b} of boxes){if(b.left<frame.left-1||b.right>frame.right+1||b.top<frame.top-1||b.bottom>frame.bottom+1)out.push('outside: '+s)}
for(let i=0;i<boxes.length;i++)for(let j=i+1;j<boxes.length;j++){const a=boxes[i].b,c=boxes[j].b;
if(a.left<c.right-1&&c.left<a.right-1&&a.top<c.bottom-2&&c.top<a.bottom-2)out.push('meet: '+boxes[i].s+' | '+boxes[j].s)}}
if(document.documentElement.scrollWidth>window.innerWidth)out.push('wider than the window');
document.title='probed '+count+' '+out.join('; ');</script></body>"""


def needed(case):
    if program("chromium") is None:
        case.skipTest("chromium is not here")


def run(folder, *options):
    return subprocess.run([program("chromium"), "--headless=new", "--no-sandbox", "--disable-gpu",
                           "--disable-dev-shm-usage", f"--user-data-dir={folder}/profile",
                           "--disable-background-networking", "--no-first-run", *options],
                          capture_output=True, text=True, timeout=120, env=dict(os.environ, HOME=str(folder)))


def look_at(case, folder, page, sheets=None):
    """`sheets`: on how many sheets of paper the page has to print; nothing where that is no matter."""
    probe = folder / "probe.html"
    probe.write_text(page.read_text().replace("</body>", PROBE))
    dumped = run(folder, "--dump-dom", probe.as_uri())
    found = re.search(r"<title>probed (\d+) ([^<]*)</title>", dumped.stdout)
    case.assertIsNotNone(found, dumped.stderr[-500:])
    case.assertGreater(int(found.group(1)), 10)
    case.assertEqual(found.group(2).strip(), "", page.name)
    paper = folder / (page.stem + ".pdf")
    run(folder, "--no-pdf-header-footer", f"--print-to-pdf={paper}", page.as_uri())
    case.assertTrue(paper.exists())
    count = len(re.findall(rb"/Type\s*/Page\b(?!s)", paper.read_bytes()))
    if sheets is not None:
        case.assertEqual(count, sheets, f"{page.name} prints on {count} sheets")
