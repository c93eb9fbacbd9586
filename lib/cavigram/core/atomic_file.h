// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string_view>

namespace cavigram {

/// Writes `bytes` to `path` so that the file is there whole or not at all: into a new file beside
/// it, to the disk, then renamed. The folder must exist. What a run that was killed left unfinished
/// of the same file is removed.
///
/// \throw WriteError naming the file and the cause.
void write_file(const std::filesystem::path& path, std::string_view bytes);

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
