// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the TypeScript types of what the page is filled with: sheet_types FILE
#include <exception>
#include <iostream>

#include "cavigram/core/atomic_file.h"
#include "cavigram/report/schema.h"

int main(int count, char** words) {
    if (count != 2) {
        std::cerr << "usage: cavigram_sheet_types FILE\n";
        return 2;
    }
    try {
        cavigram::write_file(words[1], cavigram::sheet_types_text());
        return 0;
    } catch (const std::exception& error) {
        std::cerr << error.what() << '\n';
        return 1;
    }
}
