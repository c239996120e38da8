using System.Globalization;
using System.Text;

namespace Throughline.Firmware;

/// <summary>Writes an integer program as the body of a C function, number by number, and the functions that this body calls.</summary>
internal sealed class ProgramText
{
    private readonly IntegerProgram _program;
    private readonly Func<Node, string?> _source;
    private readonly SortedSet<string> _helpers = new(StringComparer.Ordinal);

    /// <param name="source">Where an input comes from, an expression; null where a variable of its name is there already.</param>
    public ProgramText(IntegerProgram program, Func<Node, string?> source)
    {
        _program = program;
        _source = source;
    }

    /// <summary>The statements up to the wanted numbers; what none of them needs is left out. Every input is held to its range.</summary>
    /// <param name="given">Numbers that are there already: they are held to their ranges, and what they were made of is left out.</param>
    public string Body(IEnumerable<Node> wanted, params ReadOnlySpan<Node> given)
    {
        bool[] isNeeded = new bool[_program.Nodes.Count];
        bool[] isGiven = new bool[isNeeded.Length];
        foreach (Node node in given)
        {
            isGiven[node.Index] = true;
        }

        foreach (Node node in wanted)
        {
            isNeeded[node.Index] = true;
        }

        for (int i = isNeeded.Length - 1; i >= 0; i--)
        {
            foreach (int argument in isNeeded[i] && !isGiven[i] ? _program.Nodes[i].Arguments : [])
            {
                isNeeded[argument] = true;
            }
        }

        StringBuilder body = new();
        foreach (Node node in _program.Nodes)
        {
            if (isNeeded[node.Index] && isGiven[node.Index])
            {
                Hold(body, "    ", node, node.Low, node.High, node.Name);
            }
            else if (isNeeded[node.Index])
            {
                Statement(body, node);
            }
        }

        return body.ToString();
    }

    /// <summary>What has to stand before the bodies written so far: how their tables are read, and the functions that they call.</summary>
    public string Functions()
    {
        StringBuilder text = new();
        Places(text);
        foreach (string helper in _helpers)
        {
            Helper(text, helper);
        }

        return text.ToString();
    }

    /// <summary>Holds a variable between two limits; a comparison that its type decides is left out.</summary>
    public static void Hold(StringBuilder text, string indent, Node node, Int128 low, Int128 high, string name)
    {
        if (low > node.Word.Least)
        {
            text.Append(CultureInfo.InvariantCulture, $"{indent}if ({name} < {CodeText.Literal(low, node.Word)})\n{indent}{{\n{indent}    {name} = {CodeText.Literal(low, node.Word)};\n{indent}}}\n");
        }

        if (high < node.Word.Greatest)
        {
            text.Append(CultureInfo.InvariantCulture, $"{indent}if ({name} > {CodeText.Literal(high, node.Word)})\n{indent}{{\n{indent}    {name} = {CodeText.Literal(high, node.Word)};\n{indent}}}\n");
        }
    }

    private void Statement(StringBuilder body, Node node)
    {
        string type = node.Word.CType;
        Node a = node.Arguments.Length > 0 ? _program.Nodes[node.Arguments[0]] : node;
        Node b = node.Arguments.Length > 1 ? _program.Nodes[node.Arguments[1]] : node;
        string remark = node.Remark.Length > 0 ? " /* " + CodeText.Comment(node.Remark) + Value(node) + " */" : "";
        switch (node.Operation)
        {
            case Operation.Input:
                if (_source(node) is { } source)
                {
                    body.Append(CultureInfo.InvariantCulture, $"    {type} {node.Name} = {source};{remark}\n");
                }

                Hold(body, "    ", node, node.Low, node.High, node.Name);
                break;
            case Operation.Sum:
                Hold(body, "    ", node, node.Low, node.High, node.Name);
                break;
            case Operation.Constant:
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {CodeText.Literal(node.Constant, node.Word)};{remark}\n");
                break;
            case Operation.Add:
            case Operation.Subtract:
            case Operation.Multiply:
                string sign = node.Operation == Operation.Add ? "+" : node.Operation == Operation.Subtract ? "-" : "*";
                Word wide = Modular(node, a, b) ?? Computing(node.Word, a, b);
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {(node.Word == wide ? "" : $"({type})(")}{As(a, wide)} {sign} {As(b, wide)}{(node.Word == wide ? "" : ")")};{remark}\n");
                break;
            case Operation.Shift:
                Word shifted = Computing(node.Word, a);
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {(node.Word == shifted ? "" : $"({type})")}{Call("shift", shifted, node.Truncates)}({As(a, shifted)}, {node.Constant}U);{remark}\n");
                break;
            case Operation.Divide:
                Word divided = Computing(node.Word, a, b);
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {(node.Word == divided ? "" : $"({type})")}{Call("divide", divided, node.Truncates)}({As(a, divided)}, {As(b, divided)});{remark}\n");
                break;
            case Operation.HoldAway:
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {HeldAway(node, a)};{remark}\n");
                break;
            case Operation.Clamp:
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {Held(node, a)};{remark}\n");
                break;
            case Operation.Select:
                string outside = string.Join(
                    " || ",
                    new[]
                    {
                        node.LowLimit > b.Word.Least && node.LowLimit > b.Low ? $"{b.Name} < {CodeText.Literal(node.LowLimit, b.Word)}" : "",
                        node.HighLimit < b.Word.Greatest && node.HighLimit < b.High ? $"{b.Name} > {CodeText.Literal(node.HighLimit, b.Word)}" : "",
                    }.Where(t => t.Length > 0).Select(t => $"({t})"));
                body.Append(outside.Length == 0
                    ? $"    const {type} {node.Name} = {As(a, node.Word)};{remark}\n"
                    : $"    const {type} {node.Name} = ({outside}) ? ({type}){CodeText.Literal(node.Constant, node.Word)} : {As(a, node.Word)};{remark}\n");
                break;
            default:
                Table(body, node, a, remark);
                break;
        }
    }

    private static string HeldAway(Node node, Node a)
    {
        string type = node.Word.CType;
        string least = $"({type}){CodeText.Literal(node.LowLimit, node.Word)}";
        string above = a.Low >= node.LowLimit ? As(a, node.Word) : $"({a.Name} < {CodeText.Literal(node.LowLimit, a.Word)}) ? {least} : {As(a, node.Word)}";
        if (a.Low >= 0)
        {
            return above;
        }

        string below = $"({a.Name} > {CodeText.Literal(-node.LowLimit, a.Word)}) ? ({type}){CodeText.Literal(-node.LowLimit, node.Word)} : {As(a, node.Word)}";
        return a.High < 0 ? below : $"({a.Name} < 0) ? ({below}) : ({above})";
    }

    /// <summary>A number held between two limits, as an expression.</summary>
    private static string Held(Node node, Node a)
    {
        string type = node.Word.CType;
        string inner = As(a, node.Word);
        if (node.HighLimit < a.High)
        {
            inner = $"({a.Name} > {CodeText.Literal(node.HighLimit, a.Word)}) ? ({type}){CodeText.Literal(node.HighLimit, node.Word)} : {inner}";
        }

        return node.LowLimit > a.Low ? $"({a.Name} < {CodeText.Literal(node.LowLimit, a.Word)}) ? ({type}){CodeText.Literal(node.LowLimit, node.Word)} : ({inner})" : inner;
    }

    private void Table(StringBuilder body, Node node, Node place, string remark)
    {
        string type = node.Word.CType;
        int places = (int)node.Constant;
        Word at = Computing(place.Word, place);
        Word inner = Computing(node.InnerWord, node);
        int last = node.Values.Length - 2;
        body.Append(CultureInfo.InvariantCulture, $"    static const {type} {node.Name}_table[]{(IsPlaced(node) ? " TABLE_PLACE" : "")} = {{{remark}\n");
        for (int i = 0; i < node.Values.Length; i += 8)
        {
            body.Append("        ").AppendJoin(", ", node.Values.Skip(i).Take(8).Select(v => CodeText.Literal(v, node.Word))).Append(",\n");
        }

        body.Append("    };\n");
        string index = $"{node.Name}_index";
        string held = last == 0 ? "0U" : $"(({at.CType}){place.Name} >> {places}U)";
        body.Append(CultureInfo.InvariantCulture, $"    const uint16_t {index} = (uint16_t)({held} > {last}U ? {last}U : {held});\n");
        body.Append(CultureInfo.InvariantCulture, $"    const {inner.CType} {node.Name}_inside = ({inner.CType})(({at.CType}){place.Name} - (({at.CType}){index} << {places}U));\n");
        body.Append(CultureInfo.InvariantCulture, $"    const {inner.CType} {node.Name}_rise = ({inner.CType})(({inner.CType}){Entry(node, $"{index} + 1U")} - ({inner.CType}){Entry(node, index)});\n");
        Word sum = Computing(node.Word, node) is var w && (w.IsSigned || inner.IsSigned) ? new Word(Math.Max(w.Bits, inner.Bits), true) : w;
        body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = ({type})(({sum.CType}){Entry(node, index)} + ({sum.CType}){Call("shift", inner, node.Truncates)}({node.Name}_rise * {node.Name}_inside, {places}U));\n");
    }

    private static bool IsPlaced(Node table) => table.Word.Bits <= 32;

    private static string Entry(Node table, string index) =>
        IsPlaced(table) ? FormattableString.Invariant($"TABLE_READ_{table.Word.Bits}({table.Word.CType}, {table.Name}_table[{index}])") : $"{table.Name}_table[{index}]";

    /// <summary>Where tables lie and how a number of them is read: on a processor whose flash is no part of its data space they would else be copied into RAM.</summary>
    private void Places(StringBuilder text)
    {
        int[] widths = [.. _program.Nodes.Where(n => n.Operation == Operation.Table && IsPlaced(n)).Select(n => n.Word.Bits).Distinct().Order()];
        if (widths.Length == 0)
        {
            return;
        }

        Line(text, "#if defined(__AVR__)");
        Line(text, "/* The flash of this processor is an address space of its own. Tables stay in it. */");
        Line(text, "#include <avr/pgmspace.h>");
        Line(text, "#define TABLE_PLACE PROGMEM");
        foreach (int bits in widths)
        {
            Line(text, FormattableString.Invariant($"#define TABLE_READ_{bits}(type, number) ((type)pgm_read_{(bits == 8 ? "byte" : bits == 16 ? "word" : "dword")}(&(number)))"));
        }

        Line(text, "#else");
        Line(text, "#define TABLE_PLACE");
        foreach (int bits in widths)
        {
            Line(text, FormattableString.Invariant($"#define TABLE_READ_{bits}(type, number) (number)"));
        }

        Line(text, "#endif");
        text.Append('\n');
    }

    /// <summary>The type that an operation is computed in: at least 32 bits, so that no promotion can change its sign, and with a sign as soon as anything in it has one.</summary>
    public static Word Computing(Word word, params ReadOnlySpan<Node> arguments)
    {
        bool isSigned = word.IsSigned;
        int bits = Math.Max(32, word.Bits);
        Int128 high = 0;
        foreach (Node argument in arguments)
        {
            isSigned |= argument.Low < 0;
            high = Int128.Max(high, argument.High);
            bits = Math.Max(bits, argument.Word.Bits);
        }

        return isSigned && high > new Word(bits, true).Greatest ? new Word(64, true) : new Word(bits, isSigned);
    }

    /// <summary>The type without a sign in which two signed numbers whose result takes every bit of it are computed: it drops what lies above, which the result has not. Null where no such type is needed.</summary>
    private static Word? Modular(Node node, Node a, Node b)
    {
        int bits = Math.Max(32, Math.Max(node.Word.Bits, Math.Max(a.Word.Bits, b.Word.Bits)));
        return node.Low >= 0 && (a.Low < 0 || b.Low < 0) && node.High > new Word(bits, true).Greatest ? new Word(bits, false) : null;
    }

    private static string As(Node node, Word word) => node.Word == word ? node.Name : $"({word.CType}){node.Name}";

    private string Call(string what, Word word, bool truncates)
    {
        string name = FormattableString.Invariant($"{what}_{(truncates ? "cut" : "nearest")}_{(word.IsSigned ? "s" : "u")}{word.Bits}");
        _helpers.Add(name);
        return name;
    }

    private static void Helper(StringBuilder text, string name)
    {
        string[] parts = name.Split('_');
        bool isShift = parts[0] == "shift";
        bool isNearest = parts[1] == "nearest";
        bool isSigned = parts[2][0] == 's';
        string bits = parts[2][1..];
        string magnitude = $"uint{bits}_t";
        string type = isSigned ? $"int{bits}_t" : magnitude;
        string how = isNearest ? "to the nearest, a half away from zero" : "cut off towards zero";
        Line(text, isShift ? $"/* value / 2^places, {how} */" : $"/* value / divisor, {how}; the divisor is never zero */");
        Line(text, isShift ? $"static {type} {name}({type} value, uint8_t places)" : $"static {type} {name}({type} value, {type} divisor)");
        Line(text, "{");
        if (isSigned)
        {
            Line(text, $"    const {magnitude} size = (value < 0) ? ({magnitude})0U - ({magnitude})value : ({magnitude})value;");
        }
        else
        {
            Line(text, $"    const {magnitude} size = value;");
        }

        if (isShift)
        {
            Line(text, isNearest
                ? $"    const {magnitude} result = (size >> places) + ((size >> (places - 1U)) & 1U);"
                : $"    const {magnitude} result = size >> places;");
        }
        else
        {
            Line(text, isSigned
                ? $"    const {magnitude} by = (divisor < 0) ? ({magnitude})0U - ({magnitude})divisor : ({magnitude})divisor;"
                : $"    const {magnitude} by = divisor;");
            if (isNearest)
            {
                Line(text, $"    const {magnitude} whole = size / by;");
                Line(text, $"    const {magnitude} rest = size - whole * by;");
                Line(text, $"    const {magnitude} result = whole + ((rest >= by - rest) ? 1U : 0U);");
            }
            else
            {
                Line(text, $"    const {magnitude} result = size / by;");
            }
        }

        string negative = isShift ? "value < 0" : "(value < 0) != (divisor < 0)";
        Line(text, isSigned ? $"    return ({negative}) ? -({type})result : ({type})result;" : "    return result;");
        Line(text, "}");
        text.Append('\n');
    }

    private static void Line(StringBuilder text, string line) => text.Append(line).Append('\n');

    private static string Value(Node node) => node.Operation is Operation.Constant or Operation.Table or Operation.Sum ? "" : FormattableString.Invariant($"; {CodeText.Number(node.Low)} to {CodeText.Number(node.High)}");
}
