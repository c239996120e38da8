using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Writes the settings memory as C99: the same store as <see cref="SettingsStore"/>, byte write for byte write.</summary>
public sealed class SettingsCode
{
    private readonly SettingsLayout _layout;
    private readonly StringBuilder _text = new();
    private readonly string _wide;
    private readonly ImmutableArray<GuardCode> _guards;
    private readonly string _state;

    private SettingsCode(SettingsLayout layout)
    {
        _layout = layout;
        IEnumerable<SettingsForm> forms = layout.Records.SelectMany(r => r.Older.Prepend(r.Form));
        _wide = forms.SelectMany(f => f.Items).Any(i => i.Bytes > 4) ? "uint64_t" : "uint32_t";
        _guards = [.. forms.Select(f => f.Guard).Distinct().OrderBy(g => g.Bits).ThenBy(g => g.Kind)];
        _state = _guards.Any(g => g.Bits > 16) ? "uint32_t" : "uint16_t";
    }

    /// <summary>What the board supplies for it, for its header.</summary>
    public static string BoardFunctions =>
        """
        /* One byte of the settings memory. */
        uint8_t board_read_memory(uint16_t address);

        /* Writes one byte of the settings memory, and comes back when it is there. */
        void board_write_memory(uint16_t address, uint8_t value);

        """;

    /// <summary>The files.</summary>
    /// <exception cref="ArgumentException">The layout has a trouble.</exception>
    public static ImmutableArray<GeneratedFile> Write(SettingsLayout layout) =>
        layout.Trouble is not null ? throw new ArgumentException("Code is written of a layout without trouble only.", nameof(layout))
        :
        [
            new GeneratedFile("settings.h", new SettingsCode(layout).Header(), "the settings"),
            new GeneratedFile("settings.c", new SettingsCode(layout).Source(), "the settings memory"),
        ];

    private void Line(string line = "") => _text.Append(line).Append('\n');

    private void Block(string text) => _text.Append(text).Append('\n');

    private string Header()
    {
        _text.Append(CodeFile.HeadOf(_layout.Instrument, "the settings."));
        Line("#ifndef SETTINGS_H");
        Line("#define SETTINGS_H");
        Line();
        Line("#include <stdint.h>");
        Line();
        foreach (SettingsItem item in _layout.Items.Where(i => !i.IsFloat))
        {
            string name = "SETTINGS_" + item.CodeName.ToUpperInvariant();
            Line($"#define {name}_LEAST ({CodeText.Literal(item.Low, item.Word)})");
            Line($"#define {name}_GREATEST ({CodeText.Literal(item.High, item.Word)})");
        }

        Line();
        Line("struct settings");
        Line("{");
        foreach (SettingsItem item in _layout.Items)
        {
            string step = item.IsFloat || item.IsFlag ? "" : FormattableString.Invariant($"steps of {item.Step:G6} {CodeText.Comment(item.Unit)}").TrimEnd();
            string remark = string.Join(", ", new[] { CodeText.Comment(item.Remark), step }.Where(t => t.Length > 0));
            Line($"    {item.Word.CType} {item.CodeName};{(remark.Length > 0 ? $" /* {remark} */" : "")}");
        }

        Line("};");
        Line();
        Block("""
            enum settings_state
            {
                SETTINGS_GOOD,     /* every copy is right */
                SETTINGS_REPAIRED, /* a copy was wrong and has been written again from a right one */
                SETTINGS_MIGRATED, /* an older layout was found and has been taken over */
                SETTINGS_FACTORY   /* something was not to be had: factory values stand in until settings are saved or restored */
            };

            /* Reads everything, puts wrong copies right. Of several records the worst state counts. */
            enum settings_state settings_load(struct settings *settings);

            /* Stores everything; what is already stored is not written. A power cut leaves every record old or new.
             * Values outside of their least and greatest give way to factory values at the next load. */
            void settings_save(const struct settings *settings);

            /* Puts factory values into memory and into the settings. */
            void settings_restore(struct settings *settings);

            #endif
            """);
        return _text.ToString();
    }

    private string Source()
    {
        MemorySection section = _layout.Section;
        int longest = _layout.Records.Max(r => r.Form.Length);
        _text.Append(CodeFile.HeadOf(_layout.Instrument, "the settings memory."));
        Map();
        Line("#include \"settings.h\"");
        Line("#include \"board.h\"");
        Line();
        Line("struct form");
        Line("{");
        Line("    const uint16_t *starts; /* addresses of the copies */");
        Line("    uint16_t guard_offset;  /* bytes in front of the guard */");
        Line("    uint16_t length;        /* bytes of a copy */");
        Line("    uint8_t copies;");
        Line("    uint8_t version;        /* first byte of a whole copy, 0 where none is stored */");
        Line("    uint8_t guard;          /* bytes of the guard */");
        Line("    uint8_t kind;           /* 0 none, 1 sum of eight bits, 2 CRC-8, 3 CRC-16, 4 CRC-32 */");
        Line("};");
        Line();
        foreach (SettingsRecord record in _layout.Records)
        {
            Form(record.CodeName, record.Form);
            foreach (SettingsForm older in record.Older)
            {
                Form(OlderName(record, older), older);
            }
        }

        Line("/* What a copy is to hold. */");
        Line($"static uint8_t image[{longest}];");
        Line();
        Guards();
        string index = section.IsBigEndian ? "i" : "(uint16_t)(bytes - 1U - i)";
        Block($$"""
            static {{_wide}} read_word(uint16_t address, uint8_t bytes)
            {
                {{_wide}} value = 0;
                uint8_t i;
                for (i = 0; i < bytes; i++)
                {
                    value = ({{_wide}})((value << 8) | board_read_memory((uint16_t)(address + {{index}})));
                }
                return value;
            }

            static void put_word(uint16_t offset, uint8_t bytes, {{_wide}} value)
            {
                uint8_t i;
                for (i = 0; i < bytes; i++)
                {
                    image[(uint16_t)(offset + {{(section.IsBigEndian ? "(uint16_t)(bytes - 1U - i)" : "i")}})] = (uint8_t)(value & 255U);
                    value >>= 8;
                }
            }

            static void put_guard(const struct form *form)
            {
                {{_state}} state = guard_start(form->kind);
                uint16_t i;
                for (i = 0; i < form->guard_offset; i++)
                {
                    state = guard_add(form->kind, state, image[i]);
                }
                put_word(form->guard_offset, form->guard, guard_end(form->kind, state));
            }

            static uint8_t are_equal(const struct form *form, uint8_t one, uint8_t other)
            {
                uint16_t i;
                for (i = 0; i < form->length; i++)
                {
                    if (board_read_memory((uint16_t)(form->starts[one] + i)) != board_read_memory((uint16_t)(form->starts[other] + i)))
                    {
                        return 0;
                    }
                }
                return 1;
            }

            /* Whether a copy is believed; without a guard when another one says the same, a single one always. */
            static uint8_t is_good(const struct form *form, uint8_t copy)
            {
                const uint16_t start = form->starts[copy];
                {{_state}} state;
                uint16_t i;
                if (form->version != 0 && board_read_memory(start) != form->version)
                {
                    return 0;
                }
                if (form->guard == 0)
                {
                    uint8_t is_believed = (form->copies == 1U) ? 1U : 0U;
                    uint8_t other;
                    for (other = 0; other < form->copies && is_believed == 0; other++)
                    {
                        is_believed = (uint8_t)((other != copy && are_equal(form, copy, other) != 0) ? 1U : 0U);
                    }
                    return is_believed;
                }
                state = guard_start(form->kind);
                for (i = 0; i < form->guard_offset; i++)
                {
                    state = guard_add(form->kind, state, board_read_memory((uint16_t)(start + i)));
                }
                return (uint8_t)((read_word((uint16_t)(start + form->guard_offset), form->guard) == guard_end(form->kind, state)) ? 1U : 0U);
            }

            static uint8_t holds_image(const struct form *form, uint8_t copy)
            {
                uint16_t i;
                for (i = 0; i < form->length; i++)
                {
                    if (board_read_memory((uint16_t)(form->starts[copy] + i)) != image[i])
                    {
                        return 0;
                    }
                }
                return 1;
            }

            /* A byte that already holds its value is not written. */
            static void put(uint16_t address, uint8_t value)
            {
                if (board_read_memory(address) != value)
                {
                    board_write_memory(address, value);
                }
            }

            """);
        Writing();
        Block("""
            /* Writes the other copies again where they differ. */
            static uint8_t repair(const struct form *form, uint8_t good)
            {
                uint8_t differed = 0;
                uint8_t copy;
                uint16_t i;
                for (i = 0; i < form->length; i++)
                {
                    image[i] = board_read_memory((uint16_t)(form->starts[good] + i));
                }
                for (copy = 0; copy < form->copies; copy++)
                {
                    if (copy != good && are_equal(form, good, copy) == 0)
                    {
                        differed = 1;
                        write_copy(form, copy);
                    }
                }
                return differed;
            }

            """);
        Helpers();
        foreach (SettingsRecord record in _layout.Records)
        {
            Record(record);
        }

        Whole();
        return _text.ToString();
    }

    /// <summary>The map, as a comment.</summary>
    private void Map()
    {
        Line("/* Address, bytes, what stands there:");
        foreach (SettingsRegion region in SettingsMap.Of(_layout))
        {
            Line(string.Create(CultureInfo.InvariantCulture, $" * {region.Address,5} {region.Bytes,3}  {CodeText.Comment(region.Record)}, copy {region.Copy}: {CodeText.Comment(region.What)}"));
        }

        Line(" */");
        Line();
    }

    private void Form(string name, SettingsForm form)
    {
        Line($"static const uint16_t {name}_starts[] = {{{string.Join(", ", form.Starts.Select(s => s.ToString(CultureInfo.InvariantCulture) + "U"))}}};");
        Line(FormattableString.Invariant($"static const struct form {name}_form = {{{name}_starts, {form.GuardOffset}U, {form.Length}U, {form.Starts.Length}U, {form.Version ?? 0}U, {form.Guard.Bytes}U, {(int)form.Guard.Kind}U}};"));
        Line();
    }

    private static string OlderName(SettingsRecord record, SettingsForm older) => FormattableString.Invariant($"{record.CodeName}_v{older.Version}");

    private void Guards()
    {
        Line($"static {_state} guard_start(uint8_t kind)");
        Line("{");
        foreach (GuardCode guard in _guards.Where(g => g.Initial != 0))
        {
            Line($"    if (kind == {(int)guard.Kind}U)\n    {{\n        return {Hex(guard.Initial)};\n    }}");
        }

        if (_guards.All(g => g.Initial == 0))
        {
            Line("    (void)kind;");
        }

        Line("    return 0;\n}\n");
        Line($"static {_state} guard_end(uint8_t kind, {_state} state)");
        Line("{");
        foreach (GuardCode guard in _guards.Where(g => g.Final != 0))
        {
            Line($"    if (kind == {(int)guard.Kind}U)\n    {{\n        return state ^ {Hex(guard.Final)};\n    }}");
        }

        if (_guards.All(g => g.Final == 0))
        {
            Line("    (void)kind;");
        }

        Line("    return state;\n}\n");
        foreach (GuardCode guard in _guards.Where(g => !g.Table.IsEmpty))
        {
            string type = FormattableString.Invariant($"uint{guard.Bits}_t");
            Line($"static const {type} crc_{guard.Bits}_table[16] = {{\n    {string.Join(", ", guard.Table.Take(8).Select(Hex))},\n    {string.Join(", ", guard.Table.Skip(8).Select(Hex))},\n}};\n");
        }

        Line($"static {_state} guard_add(uint8_t kind, {_state} state, uint8_t byte)");
        Line("{");
        foreach (GuardCode guard in _guards.Where(g => g.Bits > 0))
        {
            Line($"    if (kind == {(int)guard.Kind}U)\n    {{");
            string table = $"crc_{guard.Bits}_table";
            Line(guard.Kind switch
            {
                MemoryGuard.Sum8 => $"        return ({_state})(((unsigned)state + byte) & 255U);",
                MemoryGuard.Crc32 => $"        state ^= byte;\n        state = {table}[state & 15U] ^ (state >> 4);\n        return {table}[state & 15U] ^ (state >> 4);",
                _ => Left(guard, table),
            });
            Line("    }");
        }

        if (_guards.All(g => g.Bits == 0))
        {
            Line("    (void)kind;\n    (void)byte;");
        }

        Line("    return state;\n}\n");
    }

    private string Left(GuardCode guard, string table)
    {
        int top = guard.Bits - 4;
        string mask = guard.Bits == 8 ? "255U" : "65535U";
        string Step(string nibble) => $"        state = ({_state})((((unsigned)state << 4) ^ {table}[(((unsigned)state >> {top}) ^ {nibble}) & 15U]) & {mask});";
        return Step("((unsigned)byte >> 4)") + "\n" + Step("byte") + "\n        return state;";
    }

    private static string Hex(uint value) => "0x" + value.ToString("X", CultureInfo.InvariantCulture) + "U";

    private void Writing()
    {
        bool isMarked = _layout.Section.IsMarked;
        string begin = isMarked ? "1" : "0";
        Line("static void write_copy(const struct form *form, uint8_t copy)");
        Line("{");
        Line("    const uint16_t start = form->starts[copy];");
        Line("    uint16_t i;");
        Line("    if (holds_image(form, copy) != 0)\n    {\n        return;\n    }");
        if (isMarked)
        {
            Line("    put(start, 0); /* being written: not to be believed */");
        }

        Line($"    for (i = {begin}; i < form->length; i++)\n    {{\n        put((uint16_t)(start + i), image[i]);\n    }}");
        if (isMarked)
        {
            Line("    put(start, image[0]); /* whole */");
        }

        Line("}");
        Line();
        if (_layout.Section.Order == CopyOrder.OneAfterTheOther)
        {
            Block("""
                /* One copy after the other: while one is being written another one is whole. */
                static void write_copies(const struct form *form, uint8_t first)
                {
                    uint8_t i;
                    for (i = 0; i < form->copies; i++)
                    {
                        write_copy(form, (uint8_t)((first + i) % form->copies));
                    }
                }

                """);
            return;
        }

        Line("static void write_copies(const struct form *form, uint8_t first)");
        Line("{");
        Line("    uint8_t is_there = 1;\n    uint8_t copy;\n    uint16_t i;\n    (void)first;");
        Line("    for (copy = 0; copy < form->copies; copy++)\n    {\n        is_there = (uint8_t)(is_there & holds_image(form, copy));\n    }");
        Line("    if (is_there != 0)\n    {\n        return;\n    }");
        string each = "    for (copy = 0; copy < form->copies; copy++)\n    {\n        put(form->starts[copy], VALUE);\n    }";
        if (isMarked)
        {
            Line(each.Replace("VALUE", "0", StringComparison.Ordinal));
        }

        Line($"    for (i = {begin}; i < form->length; i++)\n    {{\n        for (copy = 0; copy < form->copies; copy++)\n        {{\n            put((uint16_t)(form->starts[copy] + i), image[i]);\n        }}\n    }}");
        if (isMarked)
        {
            Line(each.Replace("VALUE", "image[0]", StringComparison.Ordinal));
        }

        Line("}");
        Line();
    }

    private void Helpers()
    {
        IEnumerable<SettingsItem> all = _layout.Records.SelectMany(r => r.Older.Prepend(r.Form)).SelectMany(f => f.Items);
        foreach (int bits in all.Where(i => i.Word.IsSigned).Select(i => i.Word.Bits).Distinct().Order())
        {
            string type = FormattableString.Invariant($"int{bits}_t");
            string greatest = ((Int128.One << (bits - 1)) - 1).ToString(CultureInfo.InvariantCulture);
            Line($"static {type} signed_{bits}(u{type} bits)");
            Line("{");
            Line($"    return (bits <= {greatest}U) ? ({type})bits : ({type})(-1 - ({type})(u{type})~bits);");
            Line("}");
            Line();
        }

        if (_layout.Items.Any(i => i.IsFloat))
        {
            Line("/* Bits of IEEE 754 in the order of the numbers. */");
            Line("static uint32_t rank(uint32_t bits)");
            Line("{");
            Line("    return ((bits & 0x80000000U) != 0U) ? ~bits : (bits | 0x80000000U);");
            Line("}");
            Line();
        }

        if (_layout.Records.SelectMany(r => r.Older).SelectMany(o => o.Moves).Any(m => m.From >= 0 && m.Multiply != m.Divide))
        {
            Block("""
                /* old * multiply / divide, to the nearest, a half away from zero; 31 bits each, so that nothing overflows */
                static int64_t scale(int64_t old, int64_t multiply, int64_t divide)
                {
                    const int64_t product = old * multiply;
                    const int64_t size = (product < 0) ? -product : product;
                    const int64_t whole = size / divide;
                    const int64_t rest = size % divide;
                    const int64_t nearest = whole + ((rest >= divide - rest) ? 1 : 0);
                    return (product < 0) ? -nearest : nearest;
                }

                """);
        }
    }

    private string Read(SettingsItem item, string start)
    {
        string word = FormattableString.Invariant($"read_word((uint16_t)({start} + {item.Offset}U), {item.Bytes}U)");
        string unsigned = FormattableString.Invariant($"(uint{item.Word.Bits}_t)") + word;
        return item.Word.IsSigned ? FormattableString.Invariant($"signed_{item.Word.Bits}({unsigned})") : _wide == item.Word.CType ? word : unsigned;
    }

    private void Record(SettingsRecord record)
    {
        string name = record.CodeName;
        SettingsForm form = record.Form;
        Line($"static void factory_{name}(struct settings *settings)");
        Line("{");
        foreach (SettingsItem item in form.Items)
        {
            Line($"    settings->{item.CodeName} = {CodeText.Literal(item.Factory, item.Word)};");
        }

        Line("}");
        Line();
        Line($"static void pack_{name}(const struct settings *settings)");
        Line("{");
        if (form.Version is { } version)
        {
            Line(FormattableString.Invariant($"    image[0] = {version}U;"));
        }

        foreach (SettingsItem item in form.Items)
        {
            string value = item.Word.IsSigned ? FormattableString.Invariant($"({_wide})(uint{item.Word.Bits}_t)settings->{item.CodeName}") : $"settings->{item.CodeName}";
            Line(FormattableString.Invariant($"    put_word({item.Offset}U, {item.Bytes}U, {value});"));
        }

        Line($"    put_guard(&{name}_form);");
        Line("}");
        Line();
        foreach (SettingsForm older in record.Older)
        {
            Migrating(record, older);
        }

        Line($"static enum settings_state find_{name}(struct settings *settings)");
        Line("{");
        Line("    uint8_t copy;");
        Line($"    for (copy = 0; copy < {form.Starts.Length}U; copy++)\n    {{\n        if (is_good(&{name}_form, copy) != 0)\n        {{\n            const uint16_t start = {name}_starts[copy];");
        foreach (SettingsItem item in form.Items)
        {
            Line($"            settings->{item.CodeName} = {Read(item, "start")};");
        }

        Line($"            return (repair(&{name}_form, copy) != 0) ? SETTINGS_REPAIRED : SETTINGS_GOOD;\n        }}\n    }}");
        foreach (SettingsForm older in record.Older)
        {
            string old = OlderName(record, older);
            Line($"    for (copy = 0; copy < {older.Starts.Length}U; copy++)\n    {{\n        if (is_good(&{old}_form, copy) != 0)\n        {{");
            Line($"            migrate_{old}({old}_starts[copy], settings);\n            pack_{name}(settings);");
            Line("            /* The copy that was read comes last: it is there until another one is whole. */");
            Line($"            write_copies(&{name}_form, (uint8_t)(copy + 1U));\n            return SETTINGS_MIGRATED;\n        }}\n    }}");
        }

        Line($"    factory_{name}(settings);\n    return SETTINGS_FACTORY;");
        Line("}");
        Line();
        Line($"static enum settings_state load_{name}(struct settings *settings)");
        Line("{");
        Line($"    enum settings_state state = find_{name}(settings);");
        foreach (SettingsItem item in form.Items)
        {
            string refused = Refused(item, $"settings->{item.CodeName}");
            if (refused.Length > 0)
            {
                Line($"    if ({refused})\n    {{\n        settings->{item.CodeName} = {CodeText.Literal(item.Factory, item.Word)};\n        state = SETTINGS_FACTORY;\n    }}");
            }
        }

        Line("    return state;");
        Line("}");
        Line();
    }

    /// <summary>The condition under which a value is not accepted; empty when every value is.</summary>
    private static string Refused(SettingsItem item, string value)
    {
        if (item.IsFloat)
        {
            string outside = FormattableString.Invariant($"rank({value}) < {item.Low}U || rank({value}) > {item.High}U");
            return item.Source.Test == AcceptanceTest.RefusedOutside ? $"({outside}) && ({value} & 0x7FFFFFFFU) <= 0x7F800000U" : outside;
        }

        return string.Join(
            " || ",
            new[]
            {
                item.Low > item.Word.Least ? $"{value} < {CodeText.Literal(item.Low, item.Word)}" : "",
                item.High < item.Word.Greatest ? $"{value} > {CodeText.Literal(item.High, item.Word)}" : "",
            }.Where(t => t.Length > 0));
    }

    private void Migrating(SettingsRecord record, SettingsForm older)
    {
        string name = OlderName(record, older);
        Line(FormattableString.Invariant($"/* Takes layout {older.Version} over; what is new, and what does not fit, is at its factory value. */"));
        Line($"static void migrate_{name}(uint16_t start, struct settings *settings)");
        Line("{");
        if (older.Moves.Any(m => m.From >= 0))
        {
            Line("    int64_t value;");
        }
        else
        {
            Line("    (void)start;");
        }

        Line($"    factory_{record.CodeName}(settings);");
        for (int i = 0; i < older.Moves.Length; i++)
        {
            SettingsMove move = older.Moves[i];
            if (move.From < 0)
            {
                continue;
            }

            SettingsItem item = record.Form.Items[i];
            string read = $"(int64_t){Read(older.Items[move.From], "start")}";
            Line(move.Multiply == move.Divide ? $"    value = {read};" : FormattableString.Invariant($"    value = scale({read}, {move.Multiply}, {move.Divide});"));
            if (item.IsFloat)
            {
                string refused = Refused(item, "(uint32_t)value");
                Line($"    if (!({refused}))\n    {{\n        settings->{item.CodeName} = (uint32_t)value;\n    }}");
            }
            else
            {
                Line(FormattableString.Invariant($"    if (value >= {item.Low} && value <= {item.High})\n    {{\n        settings->{item.CodeName} = ({item.Word.CType})value;\n    }}"));
            }
        }

        Line("}");
        Line();
    }

    private void Whole()
    {
        Line("enum settings_state settings_load(struct settings *settings)");
        Line("{");
        Line("    enum settings_state worst = SETTINGS_GOOD;\n    enum settings_state state;");
        foreach (SettingsRecord record in _layout.Records)
        {
            Line($"    state = load_{record.CodeName}(settings);\n    worst = (state > worst) ? state : worst;");
        }

        Line("    return worst;\n}\n");
        Line("void settings_save(const struct settings *settings)");
        Line("{");
        foreach (SettingsRecord record in _layout.Records)
        {
            Line($"    pack_{record.CodeName}(settings);\n    write_copies(&{record.CodeName}_form, 0);");
        }

        Line("}\n");
        Line("void settings_restore(struct settings *settings)");
        Line("{");
        foreach (SettingsRecord record in _layout.Records)
        {
            Line($"    factory_{record.CodeName}(settings);");
        }

        Line("    settings_save(settings);\n}");
    }
}
