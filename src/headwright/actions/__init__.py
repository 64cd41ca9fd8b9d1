"""One function per thing a user can do. The only place where storage meets studies.

Every function takes an open :class:`~headwright.storage.repository.Book`; faces parse their
request, call one of these, and render the outcome through :mod:`headwright.views`.
"""

from headwright.actions.book import (
    bring_back,
    compare_bodies,
    compare_revisions,
    count_records,
    find_records,
    history_of,
    keep_photo,
    list_records,
    make_folder,
    open_book,
    photos_of,
    read_photo,
    remove_photo,
    save_record,
    shop_system,
    show_record,
    tags_of,
    withdraw_record,
    withdrawn_tags,
)
from headwright.actions.builds import (
    check_build,
    check_draft,
    engine_power_of_report,
    judge_for_build,
    rank_build,
)
from headwright.actions.clearances import (
    clearances_of_build,
    pockets_of_report,
    timing_of_build,
)
from headwright.actions.compare import (
    compare_builds,
    compare_power,
)
from headwright.actions.curves import (
    flow_curves,
    pulls_of_build,
    pulls_to_standard,
)
from headwright.actions.engine import (
    kept_power,
    kept_waves,
    power_of_build,
    waves_of_build,
)
from headwright.actions.exchange import (
    back_up,
    export_to_file,
    fill_with_demo,
    import_from_file,
    import_into,
    load_demo,
    restore_backup,
    write_sheet,
)
from headwright.actions.gathering import missing_of_build
from headwright.actions.gear import gear_of_build
from headwright.actions.layout import blocks_for, layout_of_casting
from headwright.actions.oil import drain_of, pool_of
from headwright.actions.plans import plan_of_build, wishes_of_build
from headwright.actions.repair import repair_of
from headwright.actions.revs import revs_of_build, train_at_speed
from headwright.actions.scans import keep_scan, scan_chambers, scan_crown, scan_of_casting

__all__ = [
    "back_up",
    "blocks_for",
    "bring_back",
    "check_build",
    "check_draft",
    "clearances_of_build",
    "compare_bodies",
    "compare_builds",
    "compare_power",
    "compare_revisions",
    "count_records",
    "drain_of",
    "engine_power_of_report",
    "export_to_file",
    "fill_with_demo",
    "find_records",
    "flow_curves",
    "gear_of_build",
    "history_of",
    "import_from_file",
    "import_into",
    "judge_for_build",
    "keep_photo",
    "keep_scan",
    "kept_power",
    "kept_waves",
    "layout_of_casting",
    "list_records",
    "load_demo",
    "make_folder",
    "missing_of_build",
    "open_book",
    "photos_of",
    "plan_of_build",
    "pockets_of_report",
    "pool_of",
    "power_of_build",
    "pulls_of_build",
    "pulls_to_standard",
    "rank_build",
    "read_photo",
    "remove_photo",
    "repair_of",
    "restore_backup",
    "revs_of_build",
    "save_record",
    "scan_chambers",
    "scan_crown",
    "scan_of_casting",
    "shop_system",
    "show_record",
    "tags_of",
    "timing_of_build",
    "train_at_speed",
    "waves_of_build",
    "wishes_of_build",
    "withdraw_record",
    "withdrawn_tags",
    "write_sheet",
]
