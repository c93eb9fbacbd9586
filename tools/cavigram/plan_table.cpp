// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan_table.h"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <set>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/report/scan_table.h"
#include "cavigram/tally/casting_log.h"

#include "commands.h"
#include "content_hash.h"
#include "option_table.h"
#include "scan_child.h"
#include "scan_store.h"

namespace cavigram::program {

namespace fs = std::filesystem;

namespace {

using Clock = std::chrono::steady_clock;

// The words of the options that a plan is made from, with what the files among them hold.
struct Recipe {
    std::string words;
    std::string digest;
};

Recipe recipe_of(const Options& options) {
    Recipe recipe;
    for (const std::string& word : plan_words(options)) {
        recipe.words += (recipe.words.empty() ? "" : " ") + word;
    }
    std::string all = std::string("cavigram ") + CAVIGRAM_VERSION + "\n" + recipe.words + "\n";
    for (const auto& [name, texts] : options.values) {
        const OptionRow* const row = find_option(name);
        if (row != nullptr && row->value.beside_job == BesideJob::if_toml) {
            all += name + " " + sha256_of_file(texts.front()) + "\n";
        }
    }
    for (const AlsoPart& also : options.plan.foam.also) {
        all += "also " + sha256_of_mesh(also.file) + "\n";
    }
    if (options.from_tally) {
        all += "tally " +
               sha256_of_file(options.db.empty() ? usual_log_path() : fs::path(options.db)) + "\n";
    }
    recipe.digest = sha256(all);
    return recipe;
}

// One scan of the call.
struct Scan {
    fs::path path;
    std::string name;  // of its folder
};

// Each once, however it is written.
std::vector<Scan> scans_of(const Options& options) {
    std::vector<Scan> scans;
    std::set<std::string> names;
    for (const fs::path& path : options.parts) {
        std::string name = ScanStore::name_of(path);
        if (names.insert(name).second) {
            scans.push_back({path, std::move(name)});
        }
    }
    return scans;
}

class TableRun {
  public:
    TableRun(const Options& options, const RunContext& context)
        : options_(options),
          context_(context),
          store_(options.out),
          recipe_(recipe_of(options)),
          scans_(scans_of(options)) {}

    int run() {
        make_folder(options_.out);
        try {
            plan_all();
            all_ = store_.write_tables(options_.style.first, context_.stop);
        } catch (const Cancelled&) {
            stopped();
            return 130;
        }
        context_.report("done", 1.0);
        return told();
    }

  private:
    // Those that another program works on are looked at again at the end, when it is done or gone.
    void plan_all() {
        std::vector<const Scan*> elsewhere;
        for (const Scan& scan : scans_) {
            show(scan);
            if (const auto claim = store_.claim(scan.name)) {
                settle(scan);
            } else {
                elsewhere.push_back(&scan);
            }
        }
        for (const Scan* scan : elsewhere) {
            show(*scan);
            const Claim claim = store_.wait_for(scan->name, context_.stop);
            settle(*scan);
        }
    }

    void show(const Scan& scan) const {
        context_.report(fmt::format("{} of {}: {}", rows_.size() + 1, scans_.size(),
                                    scan.path.filename().string()),
                        static_cast<double>(rows_.size()) / static_cast<double>(scans_.size()));
    }

    // Leaves it as it is if that is what would come out. \pre its claim is held
    void settle(const Scan& scan) {
        const std::string content = sha256_of_mesh(scan.path);
        const std::string key = sha256(recipe_.digest + " " + content);
        if (const auto there = store_.record(scan.name);
            there && !content.empty() && there->key == key && !there->again) {
            rows_.push_back(*there);
            ++done_before_;
            return;
        }
        ScanRow row;
        try {
            row = plan_in_child(scan.path, store_.new_draft(scan.name), options_, context_.stop);
        } catch (...) {
            store_.discard_draft(scan.name);
            throw;
        }
        row.scan = fs::absolute(scan.path).lexically_normal().string();
        row.folder = scan.name;
        row.options = recipe_.words;
        row.version = CAVIGRAM_VERSION;
        row.content_sha256 = content;
        row.key = key;
        // Changed under our hands: what was planned is neither the one nor the other.
        row.again = row.again || sha256_of_mesh(scan.path) != content;
        store_.commit(scan.name, row);
        rows_.push_back(row);
        keep_tables_fresh();
    }

    // So that a person may look at the table while it grows, for a twentieth of the time at most.
    void keep_tables_fresh() {
        const auto begun = Clock::now();
        if (begun < next_tables_) {
            return;
        }
        all_ = store_.write_tables(options_.style.first, context_.stop);
        tables_took_ = Clock::now() - begun;
        next_tables_ =
            Clock::now() + std::max<Clock::duration>(20 * tables_took_, std::chrono::seconds(5));
    }

    // The rows of what is done, where that takes no time: a stop that takes long is no stop.
    void stopped() const {
        if (tables_took_ < std::chrono::milliseconds(200)) {
            static_cast<void>(store_.write_tables(options_.style.first, {}));
        }
        std::fprintf(stderr,
                     "cavigram: Stopped as asked; %zu of %zu scans are done, and the same call "
                     "goes on from there.\n",
                     rows_.size(), scans_.size());
    }

    [[nodiscard]] bool has(ScanEnd end) const {
        const auto& rows = scans_.empty() ? all_ : rows_;
        return std::any_of(rows.begin(), rows.end(),
                           [&](const ScanRow& row) { return row.end == end; });
    }

    // The counts, what went wrong, and where the table is; and the exit status.
    [[nodiscard]] int told() const {
        std::string text = scan_counts_text(scans_.empty() ? all_ : rows_);
        if (done_before_ > 0) {
            text += fmt::format("; {} done before", done_before_);
        }
        text += "\n";
        for (const auto& [end, word] :
             {std::pair{ScanEnd::failed, "Failed"}, {ScanEnd::stop, "Attention first"}}) {
            for (const ScanRow& row : rows_) {
                text += row.end == end ? fmt::format("{}: {}: {}\n", word, row.scan,
                                                     rendered(row.sentence, options_.style.first))
                                       : "";
            }
        }
        text +=
            fmt::format("Table: {}, {}; rows in it: {}\n", (options_.out / "table.html").string(),
                        (options_.out / "table.csv").string(), all_.size());
        if (!options_.quiet) {
            print(text, "the table is written");
        }
        return has(ScanEnd::failed) ? 3 : has(ScanEnd::stop) ? 1 : 0;
    }

    const Options& options_;
    const RunContext& context_;
    ScanStore store_;
    Recipe recipe_;
    std::vector<Scan> scans_;
    std::vector<ScanRow> rows_;  // of this call's scans
    std::vector<ScanRow> all_;   // in the table
    std::size_t done_before_ = 0;
    Clock::duration tables_took_{};
    Clock::time_point next_tables_ = Clock::now() + std::chrono::seconds(5);
};

}  // namespace

int plan_table(const Options& options, const RunContext& context) {
    check_folder_place(options.out);
    // What no scan could be planned with is refused once, not in each row.
    static_cast<void>(card_of(options.plan.foam));
    return TableRun(options, context).run();
}

}  // namespace cavigram::program
