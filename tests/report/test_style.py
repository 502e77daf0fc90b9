"""The common look: told apart in grey, independent of the user's own settings, and nothing wider than its place."""

from itertools import pairwise

import matplotlib as mpl
import pytest

from simstore.report.charts import style


def lightness(colour: str) -> float:
    """CIE 1976 L* of an sRGB colour, 0..100.

    Transfer function of IEC 61966-2-1 and L* of CIE 15, constants from memory, unverified against print.
    """
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16 if y > 216 / 24389 else y * 24389 / 27


def test_colours_of_series_get_lighter_in_steps_that_stay_apart_in_grey_print():
    steps = [lightness(colour) for colour in style.SERIES]

    # common practice, no source: twelve units of L* are told apart at a glance
    assert all(after - before >= 12 for before, after in pairwise(steps))


def test_text_colours_reach_the_contrast_that_wcag_asks_of_text():
    # WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text; (L1 + 0.05) / (L2 + 0.05) with relative luminance
    def luminance(colour):
        light = lightness(colour)
        return ((light + 16) / 116) ** 3 if light > 8 else light * 27 / 24389

    for colour in (style.INK, style.GREY, style.RUST, style.PETROL):
        assert 1.05 / (luminance(colour) + 0.05) >= 4.5


def test_the_look_overrides_what_the_user_has_set_and_puts_it_back():
    with mpl.rc_context({"font.size": 30.0, "axes.grid": True, "svg.fonttype": "none"}):
        with style.look():
            assert mpl.rcParams["font.size"] == style.TEXT_PT
            assert mpl.rcParams["axes.grid"] is False
            assert mpl.rcParams["svg.fonttype"] == "path"

        assert mpl.rcParams["font.size"] == 30.0
        assert mpl.rcParams["axes.grid"] is True


def test_wrapped_lines_fit_and_lose_no_word():
    text = "Iron passes its ceiling from July to October and copper alloy from August to September " * 2
    lines = style.wrapped(text.strip(), room_in=3.0, size_pt=11, bold=True, level=True)

    assert " ".join(lines) == text.strip()
    assert all(style.width_pt(line, size_pt=11, bold=True) <= 3.0 * 72 for line in lines)


def test_levelling_adds_no_line():
    text = "Iron: 41 of 290 enclosures passed their ceiling at some time; copper alloy: 25 of 310"
    plain = style.wrapped(text, room_in=6.9, size_pt=11, bold=True)
    level = style.wrapped(text, room_in=6.9, size_pt=11, bold=True, level=True)
    widths = [style.width_pt(line, size_pt=11, bold=True) for line in level]

    assert len(level) == len(plain) == 2
    assert min(widths) > 0.5 * max(widths)


def test_a_word_wider_than_the_room_keeps_a_line_of_its_own():
    assert style.wrapped("a " + "W" * 60 + " b", room_in=1.0, size_pt=11) == ["a", "W" * 60, "b"]


def test_shortened_text_fits_and_ends_in_an_ellipsis():
    cut = style.shortened("chloride-bearing-iron-box-with-a-long-name", room_in=1.0, size_pt=7)

    assert cut.endswith("…")
    assert style.width_pt(cut, size_pt=7) <= 72
    assert style.shortened("short", room_in=1.0, size_pt=7) == "short"


@pytest.mark.parametrize(
    ("wanted", "placed"),
    [
        ([1.0, 5.0], [1.0, 5.0]),
        ([5.0, 5.0], [4.5, 5.5]),
        ([5.0, 5.0, 5.0], [4.0, 5.0, 6.0]),
        ([0.0, 0.0], [0.0, 1.0]),
        ([10.0, 9.9], [10.0, 9.0]),
    ],
)
def test_labels_move_as_little_as_needed_to_stand_apart_inside_their_bounds(wanted, placed):
    assert style.apart(wanted, least=1.0, low=0.0, high=10.0) == pytest.approx(placed)


def test_dollar_signs_in_a_title_are_no_formula():
    with style.look():
        sheet = style.Sheet("Costs 5 $ more, 7 $ less", body_in=1.0)
        sheet.figure.draw_without_rendering()

    assert sheet.figure.get_suptitle() == "Costs 5 $ more, 7 $ less"
    assert not sheet.figure.texts or all(not text.get_parse_math() for text in sheet.figure.texts)
