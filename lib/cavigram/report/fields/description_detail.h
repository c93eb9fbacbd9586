// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <concepts>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "cavigram/geom/vector.h"

namespace cavigram::detail {

// What a value is, as JSON sees it. `told` is a sentence in pieces (core/told.h).
enum class Shape {
    number,
    whole,
    text,
    flag,
    place,
    places,
    lines,
    numbers,
    texts,
    told,
    object,
    list
};

// A sentence with its marks, written in pieces for whoever renders it.
struct Told {
    std::string text;
};

struct BlockInfo;

// One key of a block. Its unit is the end of its name (unit_of).
struct FieldInfo {
    std::string key;
    std::string meaning;
    Shape shape = Shape::number;
    bool may_be_absent = false;
    bool may_be_null = false;
    std::vector<std::string> words;          // of a choice: all there are
    std::shared_ptr<const BlockInfo> inner;  // of an object or a list
};

// A block without its values: what the schema, the docs and the page's types are made of.
struct BlockInfo {
    std::string name;  // of its type: `Vent`
    std::string meaning;
    std::vector<FieldInfo> fields;
};

// The unit that a key's name ends in: "mm3" for volume_mm3; empty where it has none.
std::string unit_of(std::string_view key);

// Where values go. A key comes before each value within an object.
class Sink {
  public:
    virtual ~Sink() = default;
    virtual void key(const std::string& name) = 0;
    virtual void number(double value) = 0;
    virtual void whole(long long value) = 0;
    virtual void text(std::string_view value) = 0;
    virtual void flag(bool value) = 0;
    virtual void null() = 0;
    virtual void begin_object() = 0;
    virtual void end_object() = 0;
    virtual void begin_list() = 0;
    virtual void end_list() = 0;
};

void emit(Sink& sink, const Vec3& place);
void emit(Sink& sink, const std::array<double, 3>& place);
void emit(Sink& sink, const Told& told);

template <class V>
void emit(Sink& sink, const V& value) {
    if constexpr (std::is_same_v<V, bool>) {
        sink.flag(value);
    } else if constexpr (std::is_floating_point_v<V>) {
        sink.number(value);
    } else if constexpr (std::is_integral_v<V>) {
        sink.whole(static_cast<long long>(value));
    } else if constexpr (std::is_convertible_v<V, std::string_view>) {
        sink.text(value);
    } else {
        sink.begin_list();
        for (const auto& one : value) {
            emit(sink, one);
        }
        sink.end_list();
    }
}

template <class V>
constexpr Shape shape_of() {
    if constexpr (std::is_same_v<V, bool>) {
        return Shape::flag;
    } else if constexpr (std::is_floating_point_v<V>) {
        return Shape::number;
    } else if constexpr (std::is_integral_v<V>) {
        return Shape::whole;
    } else if constexpr (std::is_convertible_v<V, std::string_view>) {
        return Shape::text;
    } else if constexpr (std::is_same_v<V, Told>) {
        return Shape::told;
    } else if constexpr (std::is_same_v<V, Vec3> || std::is_same_v<V, std::array<double, 3>>) {
        return Shape::place;
    } else if constexpr (std::is_same_v<V, std::vector<std::vector<Vec3>>>) {
        return Shape::lines;
    } else if constexpr (std::is_arithmetic_v<typename V::value_type>) {
        return Shape::numbers;
    } else if constexpr (std::is_convertible_v<typename V::value_type, std::string_view>) {
        return Shape::texts;
    } else {
        return Shape::places;
    }
}

template <class V>
struct Optional : std::false_type {
    using type = V;
};
template <class V>
struct Optional<std::optional<V>> : std::true_type {
    using type = V;
};

// The description of one block of results: its keys in order, each with what it means and where its
// value comes from. A getter is a pointer to a member or a function of the block's value; one that
// gives an optional makes a key that may be absent.
template <class T>
class Block {
  public:
    Block(std::string name, std::string meaning) : info_(std::make_shared<BlockInfo>()) {
        info_->name = std::move(name);
        info_->meaning = std::move(meaning);
    }

    template <class Get>
    Block& field(const char* key, Get get, const char* meaning) {
        return add(key, get, meaning, false, {});
    }

    // As field; an empty optional is written as null.
    template <class Get>
    Block& nullable(const char* key, Get get, const char* meaning) {
        return add(key, get, meaning, true, {});
    }

    // A text that is one of a few words.
    template <class Get>
    Block& choice(const char* key, std::vector<std::string> words, Get get, const char* meaning,
                  bool may_be_null = false) {
        return add(key, get, meaning, may_be_null, std::move(words));
    }

    // A block within; the getter gives a reference, a value, a pointer or an optional.
    template <class U, class Get>
    Block& object(const char* key, const Block<U>& inner, Get get, const char* meaning) {
        using R = std::decay_t<std::invoke_result_t<Get, const T&>>;
        constexpr bool kAbsent = Optional<R>::value || std::is_pointer_v<R>;
        info_->fields.push_back(
            {key, meaning, Shape::object, kAbsent, false, {}, inner.shared_info()});
        emitters_.push_back([name = std::string(key), inner, get](const T& value, Sink& sink) {
            const auto& found = std::invoke(get, value);
            if constexpr (kAbsent) {
                if (found) {
                    sink.key(name);
                    inner.write(*found, sink);
                }
            } else {
                sink.key(name);
                inner.write(found, sink);
            }
        });
        return *this;
    }

    // A list of blocks; the getter gives a range, or an optional one or a pointer to one.
    template <class U, class Get>
    Block& list(const char* key, const Block<U>& inner, Get get, const char* meaning) {
        using R = std::decay_t<std::invoke_result_t<Get, const T&>>;
        constexpr bool kAbsent = Optional<R>::value || std::is_pointer_v<R>;
        info_->fields.push_back(
            {key, meaning, Shape::list, kAbsent, false, {}, inner.shared_info()});
        emitters_.push_back([name = std::string(key), inner, get](const T& value, Sink& sink) {
            const auto write_all = [&](const auto& range) {
                sink.key(name);
                sink.begin_list();
                for (const auto& one : range) {
                    inner.write(one, sink);
                }
                sink.end_list();
            };
            const auto& found = std::invoke(get, value);
            if constexpr (kAbsent) {
                if (found) {
                    write_all(*found);
                }
            } else {
                write_all(found);
            }
        });
        return *this;
    }

    void write(const T& value, Sink& sink) const {
        sink.begin_object();
        for (const auto& emitter : emitters_) {
            emitter(value, sink);
        }
        sink.end_object();
    }

    [[nodiscard]] const BlockInfo& info() const { return *info_; }
    [[nodiscard]] std::shared_ptr<const BlockInfo> shared_info() const { return info_; }

  private:
    template <class Get>
    Block& add(const char* key, Get get, const char* meaning, bool may_be_null,
               std::vector<std::string> words) {
        using R = std::decay_t<std::invoke_result_t<Get, const T&>>;
        constexpr bool kOptional = Optional<R>::value;
        info_->fields.push_back({key, meaning, shape_of<typename Optional<R>::type>(),
                                 kOptional && !may_be_null, may_be_null, std::move(words),
                                 nullptr});
        emitters_.push_back(
            [name = std::string(key), get, may_be_null](const T& value, Sink& sink) {
                const auto& found = std::invoke(get, value);
                if constexpr (kOptional) {
                    if (found) {
                        sink.key(name);
                        emit(sink, *found);
                    } else if (may_be_null) {
                        sink.key(name);
                        sink.null();
                    }
                } else {
                    static_cast<void>(may_be_null);
                    sink.key(name);
                    emit(sink, found);
                }
            });
        return *this;
    }

    std::shared_ptr<BlockInfo> info_;
    std::vector<std::function<void(const T&, Sink&)>> emitters_;
};

}  // namespace cavigram::detail
