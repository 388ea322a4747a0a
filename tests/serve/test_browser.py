"""The pages in a real browser, on a phone and on a desktop, with the production server behind them."""

import re
from collections.abc import Iterator

import pypdfium2 as pdfium
import pytest
from browsing import AXE, DESKTOP, PHONE, browsing, running

playwright = pytest.importorskip("playwright.sync_api", reason="no playwright: pip install playwright")


@pytest.fixture(scope="module")
def browser() -> Iterator["playwright.Browser"]:
    with browsing() as browser:
        yield browser


@pytest.fixture(scope="module")
def link(browser: "playwright.Browser", tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a link that may note, at a server of its own."""
    with running(tmp_path_factory.mktemp("browser")) as server:
        yield server.link("anna")


def page(browser: "playwright.Browser", **options: object) -> "playwright.Page":
    return browser.new_context(**options).new_page()


@pytest.mark.parametrize("options", [PHONE, DESKTOP], ids=["phone", "desktop"])
@pytest.mark.parametrize("path", ["/", "/trees", "/trees/sats-02", "/calendar"])
def test_pages_fit_ask_nobody_else_and_have_big_targets(
    browser: "playwright.Browser", link: str, path: str, options: dict[str, object]
) -> None:
    opened = page(browser, **options)
    asked: list[str] = []
    complaints: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("console", lambda message: complaints.append(message.text))
    opened.goto(link + path)
    host = link.split("/g/")[0]
    assert asked and all(url.startswith(host) for url in asked)
    assert complaints == []  # among them: what the content security policy refuses
    assert opened.evaluate("document.documentElement.scrollWidth <= innerWidth")
    small = opened.evaluate(
        "[...document.querySelectorAll('button:not(.hidden), .button, nav a, summary, select, '"
        "+ 'input:not([type=hidden])')]"
        ".filter(e => e.checkVisibility() && !e.closest('.box'))"
        ".map(e => [e.textContent.trim(), e.getBoundingClientRect().height]).filter(e => e[1] < 44)"
    )
    assert small == []
    opened.context.close()


def test_a_first_flower_is_noted_in_two_taps_and_the_plan_moves(
    browser: "playwright.Browser", link: str
) -> None:
    opened = page(browser, **PHONE)
    opened.goto(link + "/")
    opened.locator("#looks > summary").tap()
    look = opened.locator("article.look").filter(has_text="irst flower").first
    look.get_by_role("button", name=re.compile("^Seen")).first.tap()
    opened.get_by_text(re.compile("Noted: sats-.*: First flower open, seen, Sat 29 May")).first.wait_for()
    opened.get_by_text(re.compile("What moved, and why|nothing moved")).first.wait_for()
    opened.get_by_role("status").get_by_role("button", name="Undo").tap()
    opened.get_by_text("Taken back: sats-").first.wait_for()
    opened.context.close()


def test_it_all_works_without_javascript(browser: "playwright.Browser", link: str) -> None:
    opened = page(browser, **PHONE, java_script_enabled=False)
    opened.goto(link + "/trees/sats-03")
    opened.locator("#words-tree").fill("moss on the trunk")
    opened.get_by_role("button", name="Note the words").first.tap()
    opened.get_by_text("Noted: sats-03: “moss on the trunk”, Sat 29 May").first.wait_for()
    opened.context.close()


def test_the_keyboard_reaches_the_first_answer(browser: "playwright.Browser", link: str) -> None:
    opened = page(browser, **DESKTOP)
    opened.goto(link + "/")
    opened.keyboard.press("Tab")
    assert opened.evaluate("document.activeElement.textContent") == "Skip to the content"
    opened.keyboard.press("Enter")
    for _ in range(40):
        opened.keyboard.press("Tab")
        if opened.evaluate("document.activeElement.tagName") == "BUTTON":
            break
    assert opened.evaluate("document.activeElement.tagName") == "BUTTON"
    assert opened.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    opened.context.close()


def test_dark_mode_is_dark_and_print_is_on_white(browser: "playwright.Browser", link: str) -> None:
    opened = page(browser, **PHONE, color_scheme="dark")
    opened.goto(link + "/")
    ground = "getComputedStyle(document.body).backgroundColor"
    assert opened.evaluate(ground) == "rgb(19, 25, 23)"
    opened.emulate_media(media="print", color_scheme="dark")
    assert opened.evaluate(ground) == "rgb(255, 255, 255)"
    assert opened.evaluate("document.querySelector('nav').checkVisibility()") is False
    opened.context.close()


@pytest.mark.parametrize("path", ["/", "/trees", "/trees/sats-02"])
def test_the_day_the_collections_year_and_a_trees_are_one_page_each_on_paper(
    browser: "playwright.Browser", link: str, path: str
) -> None:
    opened = page(browser, **PHONE)
    opened.goto(link + path)
    assert len(pdfium.PdfDocument(opened.pdf(prefer_css_page_size=True))) == 1
    opened.context.close()


# Pages, and what a note of the tree named leads to: noted, refused, doubted.
STATES: dict[str, tuple[str, dict[str, str]]] = {
    "work": ("/", {}),
    "trees": ("/trees", {}),
    "no-tree-found": ("/trees?find=zzz", {}),
    "tree": ("/trees/sats-02", {}),
    "tray": ("/trees/sats-tray", {}),
    "calendar": ("/calendar", {}),
    "nights": ("/nights", {}),
    "water": ("/water", {}),
    "missing": ("/missing", {}),
    "noted": ("/trees/sats-02", {"act": "words", "words": "moss"}),
    "refused": ("/trees/sats-02", {"act": "did", "rule": ""}),
    "doubted": ("/trees/sats-02", {"act": "saw", "stage": "bud-swell"}),
}
OPEN_ALL = "document.querySelectorAll('details').forEach(one => { one.open = true; })"
TOO_WIDE = (
    "document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll('main *')]"
    ".filter(e => e.getBoundingClientRect().right > innerWidth).slice(0, 3).map(e => e.outerHTML)"
)


def to_state(opened: "playwright.Page", link: str, state: str) -> None:
    """Go to a page, and send what is to be noted on it by its first form."""
    path, fields = STATES[state]
    opened.goto(link + path)
    if fields:
        values = {"tree": "sats-02", "page": "sats-02", **fields}
        opened.evaluate(
            """values => {
              const form = document.createElement("form");
              form.method = "post";
              form.action = document.querySelector("form[method=post]").action;
              values.form = document.querySelector("input[name=form]").value;
              for (const [name, value] of Object.entries(values)) {
                const field = form.appendChild(document.createElement("input"));
                [field.type, field.name, field.value] = ["hidden", name, value];
              }
              document.body.append(form);
              form.submit();
            }""",
            values,
        )
        opened.wait_for_url(re.compile("noted=|/notes"))
        opened.wait_for_function("!document.querySelector('.waiting')")  # the plan has followed


@pytest.mark.parametrize("state", STATES)
def test_every_state_fits_at_every_width_and_with_large_text_and_axe_finds_nothing(
    browser: "playwright.Browser", link: str, state: str
) -> None:
    opened = page(browser, **DESKTOP, bypass_csp=True)
    to_state(opened, link, state)
    for step in ("closed", OPEN_ALL, "document.documentElement.style.fontSize = '225%'"):  # twice our 112.5 %
        if step != "closed":
            opened.evaluate(step)
        for width in (1280, 390, 360):
            opened.set_viewport_size({"width": width, "height": 800})
            assert opened.evaluate(TOO_WIDE) == [], (step, width)
        # Opened, a page shows all that it holds; what opens is the same whatever was noted before.
        if AXE.exists() and step == ("closed" if STATES[state][1] else OPEN_ALL):
            axe_finds_nothing(opened, step)
    opened.context.close()


def axe_finds_nothing(opened: "playwright.Page", step: str) -> None:
    """By all rules in light; in dark by the one that asks for colours."""
    opened.evaluate(AXE.read_text(encoding="utf-8"))
    for scheme, rules in (("light", ""), ("dark", ", {runOnly: ['color-contrast']}")):
        opened.emulate_media(color_scheme=scheme)
        found = opened.evaluate(f"axe.run(document{rules})")
        wrong = [(fault["id"], fault["nodes"][0]["html"]) for fault in found["violations"]]
        assert wrong == [], (step, scheme)


def test_axe_is_there() -> None:
    if not AXE.exists():
        pytest.skip(
            "no axe-core beside the project, so the states were not run through it: npm install axe-core"
        )
