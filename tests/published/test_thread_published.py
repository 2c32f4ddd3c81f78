"""Working thread against printed figures."""

import pytest

from service.reckoning.thread import ThreadAsk, Worked, plan_thread, used_ratio
from service.reckoning.thread_rates import BACK_STITCH_TRAVEL, KNOTTING_TRAVEL, RUNNING_TRAVEL, thread_ratio


@pytest.mark.parametrize(
    ("travel", "thickness_inches", "stitches_per_inch", "printed"),
    [
        # W5.1 and W5.2, printed on textile teaching pages, their names not kept: thread per inch of seam, class 101 = 3 + 2TS, class 301 = 2 + 2TS.
        pytest.param(BACK_STITCH_TRAVEL, 0.005, 9, 3.09, id="class 101, 0.005 in, 9 stitches"),
        pytest.param(2.0, 0.01, 10, 2.2, id="class 301, 0.01 in, 10 stitches"),
    ],
)
def test_a_seam_takes_the_printed_thread(
    travel: float, thickness_inches: float, stitches_per_inch: float, printed: float
) -> None:
    ratio = thread_ratio(travel, thickness_inches * 25.4, stitches_per_inch / 25.4)
    assert ratio == pytest.approx(printed)


def test_running_and_back_stitch_travel_as_their_counted_threads_say() -> None:
    # Part 5, T. de Dillmont, Encyclopedia of Needlework (c. 1890), ch. 1, Plain Sewing: running stitch 3 or 4 threads up and as many down; back stitch
    # 6 threads forward and 3 back, so 9 threads of travel for every 3 gained.
    assert RUNNING_TRAVEL == (4 + 4) / 8
    assert BACK_STITCH_TRAVEL == (6 + 3) / 3


@pytest.mark.parametrize(
    ("thread_cm", "printed"),
    [pytest.param(19.5, 1.3, id="needle thread"), pytest.param(62.0, 4.1, id="looper thread")],
)
def test_a_measured_seam_gives_the_printed_factor(thread_cm: float, printed: float) -> None:
    # W5.3, an apparel teaching page, its name not kept: a 15 cm seam of class 401 took 19.5 cm of needle and 62.0 cm of looper thread.
    assert used_ratio(150, thread_cm * 10) == pytest.approx(printed, abs=0.05)


def test_six_metres_of_worked_thread_take_17_needlefuls_of_45_cm() -> None:
    # W5.7. Needleful: T. de Dillmont, Encyclopedia of Needlework (c. 1890), ch. 1, never longer than 40 to 50 cm. The 8 cm lost at the ends of each is a guess.
    # 6.00 / 0.37 = 16.2, so 17 needlefuls and 7.65 m: worked by hand.
    plan = plan_thread(ThreadAsk((Worked("pair_knot", 0), Worked("whip_bias", 240)), skein_mm=8000))

    assert sum(use.thread_mm for use in plan.by_operation) == 6000
    assert (plan.needlefuls, plan.working_thread_mm, plan.skeins) == (17, 7650, 1)


@pytest.mark.parametrize(("rows", "thread_mm"), [(1, 600), (2, 1200)])
def test_knotting_a_row_of_30_cm_in_mid_air_takes_twice_its_length(rows: int, thread_mm: float) -> None:
    # W5.8, Needles and Brushes (1880s, on Wikisource), p. 180: a needleful about twice as long as the width of the work.
    row = Worked("pair_knot", 12, width_mm=25)

    plan = plan_thread(ThreadAsk((row,) * rows, skein_mm=8000))

    assert KNOTTING_TRAVEL == 2
    assert (plan.working_thread_mm, plan.needlefuls) == (thread_mm, rows)
