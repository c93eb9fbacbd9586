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

/// Writes a set of files, each by its name and its bytes, that belong together: all are written
/// beside their places and to the disk before the first is renamed, so that a full disk or a stop
/// leaves the earlier set as it was. Then those of `outdated`, names of an earlier set that this
/// one lacks, are removed. Two programs put their sets into one folder one after the other. Only a
/// kill or a loss of power between the first renaming and the last (well under a millisecond) can
/// leave some of both. Needs room for both sets, and a file handle for each file.
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
