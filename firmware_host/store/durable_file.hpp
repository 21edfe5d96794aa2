// SPDX-License-Identifier: MIT
#pragma once

/// Files that are there whole or not at all, also after a power cut.

#include <string>
#include <string_view>

namespace benchward {

/// Writes to a temporary file beside, fsyncs, renames in place, fsyncs the folder. Throws StoreError `journal.write`.
void write_file_durably(std::string const& file, std::string_view text, unsigned mode);
/// All bytes of a file of whatever size (extracts, not documents). Throws StoreError `journal.folder`.
std::string read_bytes(std::string const& file);
void fsync_folder(std::string const& folder);
/// Makes a folder and the missing ones above it (0750). Throws StoreError `journal.folder`.
void make_records_folder(std::string const& folder);

}  // namespace benchward
