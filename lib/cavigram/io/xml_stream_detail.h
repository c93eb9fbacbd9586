// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <exception>
#include <memory>
#include <string>
#include <string_view>

namespace cavigram {

/// The attributes of one element. Names in a namespace are written `URI`, line feed, name.
class XmlAttributes {
  public:
    explicit XmlAttributes(const char** pairs) : pairs_(pairs) {}

    /// The value of the attribute without a namespace; null if there is none.
    [[nodiscard]] const char* find(std::string_view name) const;
    /// The value of the attribute `name` in a namespace whose URI contains `part_of_uri`.
    [[nodiscard]] const char* find_in(std::string_view part_of_uri, std::string_view name) const;
    [[nodiscard]] const char** begin() const { return pairs_; }

  private:
    const char** pairs_;
};

/// What a reader does with an XML text. May throw; the text is then read no further.
class XmlHandler {
  public:
    XmlHandler() = default;
    XmlHandler(const XmlHandler&) = delete;
    XmlHandler& operator=(const XmlHandler&) = delete;
    virtual ~XmlHandler() = default;
    virtual void start(std::string_view uri, std::string_view name,
                       const XmlAttributes& attributes) = 0;
    virtual void end() = 0;
    /// A prefix is bound to a namespace; before the start of the element that does it.
    virtual void bind(std::string_view prefix, std::string_view uri);
};

/// Takes an XML text in pieces and tells a handler its elements.
///
/// Document types are refused (they can grow without end, and no format here has one), and so is
/// any tag longer than 1 MiB. `name` and `part` are how messages call the text; both must outlive
/// this.
class XmlStream {
  public:
    XmlStream(XmlHandler& handler, std::string_view name, std::string_view part);
    XmlStream(const XmlStream&) = delete;
    XmlStream& operator=(const XmlStream&) = delete;
    ~XmlStream();

    /// \throw UnusableInput naming the line; whatever the handler throws
    void feed(std::string_view piece);
    /// The text is at its end.
    ///
    /// \throw UnusableInput if it should not be
    void finish();
    /// Of the element that is being told.
    [[nodiscard]] std::size_t line() const;

  private:
    struct Parser;
    void parse(std::string_view piece, bool last);

    std::unique_ptr<Parser> parser_;
    std::string_view name_;
    std::string_view part_;
};

}  // namespace cavigram
