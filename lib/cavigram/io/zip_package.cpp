// SPDX-License-Identifier: GPL-3.0-or-later
#include <vector>

#include <zip.h>

#include "cavigram/core/text.h"
#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"
#include "cavigram/io/zip_package_detail.h"

namespace cavigram {

struct ZipPackage::Archive {
    zip_t* zip = nullptr;
};

namespace {

constexpr std::uint64_t kLeastBound = std::uint64_t{64} << 20;
constexpr std::uint64_t kMostTimesPacked = 128;

std::string entry_name(std::string_view entry) {
    return std::string(entry.starts_with('/') ? entry.substr(1) : entry);
}

zip_int64_t located(zip_t* zip, std::string_view entry) {
    return zip_name_locate(zip, entry_name(entry).c_str(), ZIP_FL_NOCASE);
}

// An opened entry.
class Entry {
  public:
    Entry(zip_t* zip, zip_int64_t index)
        : file_(zip_fopen_index(zip, static_cast<zip_uint64_t>(index), 0)) {}
    Entry(const Entry&) = delete;
    Entry& operator=(const Entry&) = delete;
    ~Entry() {
        if (file_ != nullptr) {
            zip_fclose(file_);
        }
    }
    // Bytes read; negative if the entry is damaged, which is known at its end at the latest.
    zip_int64_t read(std::vector<char>& buffer) {
        return file_ == nullptr ? -1 : zip_fread(file_, buffer.data(), buffer.size());
    }

  private:
    zip_file_t* file_;
};

}  // namespace

ZipPackage::ZipPackage(std::string_view archive, std::string_view name)
    : archive_(std::make_unique<Archive>()),
      name_(name),
      left_(kLeastBound + kMostTimesPacked * archive.size()) {
    zip_source_t* const source =
        zip_source_buffer_create(archive.data(), archive.size(), 0, nullptr);
    archive_->zip = source == nullptr ? nullptr : zip_open_from_source(source, ZIP_RDONLY, nullptr);
    if (archive_->zip == nullptr) {
        if (source != nullptr) {
            zip_source_free(source);
        }
        refuse(name_, "its zip archive is damaged or cut off; copy or export it again");
    }
}

ZipPackage::~ZipPackage() {
    if (archive_->zip != nullptr) {
        zip_discard(archive_->zip);
    }
}

bool ZipPackage::holds(std::string_view entry) const {
    return located(archive_->zip, entry) >= 0;
}

void ZipPackage::read(std::string_view entry,
                      const std::function<void(std::string_view piece)>& take) {
    const std::string shown = shown_text(entry);
    const zip_int64_t index = located(archive_->zip, entry);
    if (index < 0) {
        refuse(name_, "it names the part " + shown + " but does not hold it; export it again");
    }
    zip_stat_t about;
    zip_stat_init(&about);
    const bool known =
        zip_stat_index(archive_->zip, static_cast<zip_uint64_t>(index), 0, &about) == 0;
    if (known && (about.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 &&
        about.encryption_method != ZIP_EM_NONE) {
        refuse(name_, "its part " + shown + " is encrypted; export it without a password");
    }
    const auto refuse_large = [&] {
        refuse(name_, "its part " + shown +
                          " unpacks to far more than a model's text does; export it again, or "
                          "make the mesh coarser");
    };
    // What the archive states may be a lie, so it is counted as it comes, too.
    if (known && (about.valid & ZIP_STAT_SIZE) != 0 && about.size > left_) {
        refuse_large();
    }
    Entry file(archive_->zip, index);
    std::vector<char> buffer(std::size_t{1} << 16);
    zip_int64_t count = 0;
    while ((count = file.read(buffer)) > 0) {
        if (static_cast<std::uint64_t>(count) > left_) {
            refuse_large();
        }
        left_ -= static_cast<std::uint64_t>(count);
        take({buffer.data(), static_cast<std::size_t>(count)});
    }
    if (count < 0) {
        refuse(name_, "its part " + shown + " is damaged; copy or export it again");
    }
}

}  // namespace cavigram
