// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/schema.h"

#include "commands.h"

namespace cavigram::program {

Command schema_command() {
    return {"schema", "The JSON Schema (draft 2020-12) of what the program writes",
            [](const Options& given, const RunContext&) {
                print(given.schema_form == SchemaForm::json       ? schema_text()
                      : given.schema_form == SchemaForm::markdown ? schema_docs_text()
                                                                  : schema_types_text());
                return 0;
            }};
}

}  // namespace cavigram::program
