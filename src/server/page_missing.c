// SPDX-License-Identifier: GPL-3.0-or-later
// What stands at "/" when the program was built without its page.
#include "server/page_file.h"

static const unsigned char text[] = "<!doctype html><html lang=\"en\"><meta "
                                    "charset=\"utf-8\"><title>Standfast</title><p>This program was built without "
                                    "its page. The interface under /api answers.</p></html>\n";

const sf_PageFile sf_page_files[] = {
    { "/", "text/html; charset=utf-8", "\"none\"", text, sizeof text - 1, NULL, 0 },
};
const size_t sf_page_file_count = 1;
