// SPDX-License-Identifier: GPL-3.0-or-later
#include "tally_desk.h"

#include <functional>
#include <memory>
#include <utility>
#include <vector>

#include "cavigram/core/error.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit_chart.h"

#include "changes.h"
#include "option_table.h"
#include "responses.h"
#include "tally_work.h"

namespace cavigram::serve {

namespace {

using nlohmann::json;

constexpr std::uint64_t kMostEntry = 16'384;
constexpr const char* kAll = "/api/tally";
constexpr const char* kCastings = "/api/tally/castings";
constexpr const char* kCsv = "/api/tally/castings.csv";

bool is_weighed(const std::string& option) {
    const program::OptionRow* const row = program::find_option(option);
    return row != nullptr && !row->positional && (row->commands & program::kTallyCorrect) != 0 &&
           option != "job" && option != "db";
}

// 409: it may be so, and the person can say that it is; 422: it can't.
Response tried(const std::function<Response()>& work) {
    try {
        return work();
    } catch (const program::LikelySlip& doubt) {
        return sentence(409, rendered(doubt.told()));
    } catch (const Error& error) {
        return sentence(422, rendered(error.told()));
    } catch (const std::exception& error) {
        return fault_response(error);
    }
}

json optional_json(const std::optional<double>& value) {
    return value ? json(*value) : json();
}

json casting_json(const Casting& c) {
    return {{"number", c.number},
            {"text", casting_text(c)},
            {"date", c.date},
            {"part", c.part},
            {"mold", c.mold},
            {"foam", c.foam},
            {"mix", c.mix},
            {"verdict", c.verdict},
            {"note", c.note},
            {"cup_mass_g", optional_json(c.cup_mass_g)},
            {"part_mass_g", optional_json(c.part_mass_g)},
            {"flash_mass_g", optional_json(c.flash_mass_g)},
            {"stayed_mass_g", optional_json(c.stayed_mass_g)},
            {"free_rise_mass_g", optional_json(c.free_rise_mass_g)},
            {"free_rise_volume_ml", optional_json(c.free_rise_volume_ml)},
            {"temperature_c", optional_json(c.temperature_c)}};
}

json band_json(const std::vector<BandPoint>& band) {
    json points = json::array();
    for (const BandPoint& p : band) {
        points.push_back({{"x_per_m", p.x_per_m},
                          {"density_kg_m3", p.density_kg_m3},
                          {"plus_minus_kg_m3", p.plus_minus_kg_m3}});
    }
    return points;
}

json chart_json(const FitChart& chart) {
    json points = json::array();
    for (const ChartPoint& p : chart.points) {
        points.push_back({{"number", p.number},
                          {"x_per_m", p.x_per_m},
                          {"density_kg_m3", p.density_kg_m3},
                          {"in_fit", p.in_fit},
                          {"outside", p.outside()}});
    }
    return {{"points", points},
            {"band", band_json(chart.band)},
            {"band_of_others", band_json(chart.band_of_others)},
            {"band_volume_mm3", chart.band_volume_mm3}};
}

// What the castings of one foam and mix say, or why they say nothing.
json fit_json(const std::vector<Casting>& some) {
    ShopFit fit;
    std::string text;
    try {
        fit = fit_castings(some);
        text = fit_text(fit);
    } catch (const InvalidInput& error) {
        text = no_fit_text(some.front(), error.told());
    }
    return {{"foam", some.front().foam},
            {"mix", some.front().mix},
            {"text", text},
            {"chart", chart_json(fit_chart(some, fit))}};
}

json log_json(const program::Options& options) {
    json castings = json::array();
    json fits = json::array();
    std::string history;
    const std::vector<Casting> all = program::logged(options);
    for (const Casting& casting : all) {
        castings.push_back(casting_json(casting));
    }
    for (const std::vector<Casting>& some : by_foam_and_mix(all)) {
        fits.push_back(fit_json(some));
    }
    if (program::log_is_there(options)) {
        history = history_text(
            CastingLog(program::log_path(options), CastingLog::Access::read).history(), true);
    }
    return {{"file", program::log_path(options).string()},
            {"castings", castings},
            {"history", history},
            {"fits", fits}};
}

program::JobValues values_of(const std::string& body) {
    program::JobValues values = changes_of(body, is_weighed);
    std::erase_if(values, [](const auto& one) { return one.second.empty(); });
    return values;
}

}  // namespace

bool TallyDesk::owns(const std::string& path) {
    return path == kAll || path.rfind(kAll + std::string("/"), 0) == 0;
}

json TallyDesk::rows() {
    json rows = json::array();
    for (const program::OptionRow& row : program::option_rows()) {
        if (is_weighed(row.name)) {
            rows.push_back(row_json(row));
        }
    }
    return rows;
}

Answer TallyDesk::answer(const Request& request) {
    const std::string& path = request.path;
    if (path == kAll || path == kCsv) {
        if (request.method != "GET") {
            return wrong_method();
        }
        return Work{[this, csv = path == kCsv] {
            return tried([&] {
                const program::Options options = workbench_.read_tally({}, "tally list");
                return csv ? saved(bytes(castings_csv(program::logged(options)),
                                         "text/csv; charset=utf-8"),
                                   "castings.csv")
                           : json_response(log_json(options));
            });
        }};
    }
    if (path == kCastings) {
        return request.method == "POST" ? add(request) : wrong_method();
    }
    const std::string before = kCastings + std::string("/");
    return path.rfind(before, 0) == 0 ? one(request, path.substr(before.size())) : not_found();
}

// The part is the one on the bench, in its size and mended as there.
Answer TallyDesk::add(const Request& request) {
    const auto id = request.query.find("part");
    const std::shared_ptr<PartJob> job =
        id == request.query.end() ? nullptr : workbench_.find(id->second);
    if (!job) {
        return sentence(404, "This part is not here any more.");
    }
    return small_body(kMostEntry, [this, job](const std::string& body) -> Reply {
        return Work{[this, job, body] {
            return tried([&] {
                program::JobValues values = job->values();
                for (auto& [name, texts] : values_of(body)) {
                    values[name] = texts;
                }
                const program::Options options = workbench_.read(job->file(), values, "tally add");
                RunContext context;
                context.threads = options.threads;
                Casting casting;
                try {
                    casting = program::add_casting(options, context);
                } catch (const Error& error) {
                    const std::string said = told_by_names(error.told(), options.plan);
                    if (dynamic_cast<const program::LikelySlip*>(&error) != nullptr) {
                        throw program::LikelySlip(said);
                    }
                    throw InvalidInput(said);
                }
                workbench_.tell("tally", json::object());
                return json_response(casting_json(casting), 201);
            });
        }};
    });
}

Answer TallyDesk::one(const Request& request, const std::string& number) {
    if (request.method == "DELETE") {
        return Work{[this, number] {
            return tried([&] {
                const Casting gone = program::remove_casting(
                    workbench_.read_tally({{"number", {number}}}, "tally remove"));
                workbench_.tell("tally", json::object());
                return json_response(casting_json(gone));
            });
        }};
    }
    if (request.method != "PUT") {
        return wrong_method();
    }
    return small_body(kMostEntry, [this, number](const std::string& body) -> Reply {
        return Work{[this, number, body] {
            return tried([&] {
                program::JobValues values = values_of(body);
                values["number"] = {number};
                const program::Correction done = program::correct_casting(
                    workbench_.read_tally(std::move(values), "tally correct"));
                workbench_.tell("tally", json::object());
                return json_response(
                    {{"was", casting_json(done.was)}, {"now", casting_json(done.now)}});
            });
        }};
    });
}

}  // namespace cavigram::serve
