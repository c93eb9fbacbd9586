// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace cavigram {

/// Writes `bytes` to `path` so that the file is there whole or not at all: into a new file beside
/// it, to the disk, then renamed. The folder must exist. What a run that was killed left unfinished
/// of the same file is removed.
///
/// \throw WriteError naming the file and the cause.
void write_file(const std::filesystem::path& path, std::string_view bytes);

/// Writes a set of files, each by its name and its bytes, that belong together, and removes those
/// of `outdated`: names of an earlier set that this one lacks. A full disk, a stop or a second
/// program leaves one whole set. Where the folder holds nothing, or nothing but files of these
/// names, so does a kill at any moment: a new folder with the set takes its place at once (and is
/// another one to a program that stood in the old). Else, in the
/// working folder, or where the folder above can't be written to or is on another disk, all are
/// written beside their places first, then renamed one by one, and a kill or a loss of power within
/// these milliseconds can leave files of both; the next call mends that. Needs room for both sets,
/// and without the exchange a file handle for each file.
///
/// \throw WriteError naming the file and the cause; then none was replaced, unless the renaming
/// itself failed.
void write_files(const std::filesystem::path& folder,
                 const std::vector<std::pair<std::string, std::string>>& files,
                 const std::vector<std::string>& outdated = {});

/// Makes the folder and those above it.
///
/// \throw WriteError if it can't, or if a file of that name is in the way.
void make_folder(const std::filesystem::path& path);

/// Refuses a file that write_file could not write, or a folder that make_folder could not make or
/// that takes no files, before anything is computed for it. Makes nothing.
///
/// \throw WriteError
void check_file_place(const std::filesystem::path& path);
void check_folder_place(const std::filesystem::path& path);

/// Removes the unfinished files of all writes under way. For a program that must end at once while
/// another thread writes; those writes then fail or end without effect.
void discard_drafts();

}  // namespace cavigram
