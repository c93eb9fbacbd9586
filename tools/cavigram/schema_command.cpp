// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/schema.h"

#include "commands.h"

namespace cavigram::program {

Command add_schema(CLI::App& app, Options& options) {
    CLI::App* command =
        app.add_subcommand("schema", "The JSON Schema (draft 2020-12) of what the program writes");
    static_cast<void>(options);
    auto docs = std::make_shared<bool>(false);
    auto types = std::make_shared<bool>(false);
    command->add_flag("--docs", *docs, "The same for people, as docs/json.md");
    command->add_flag("--types", *types, "The same as TypeScript interfaces");
    return {command, [docs, types](const Options&, const RunContext&) {
                print(*docs ? schema_docs_text() : *types ? schema_types_text() : schema_text());
                return 0;
            }};
}

}  // namespace cavigram::program
