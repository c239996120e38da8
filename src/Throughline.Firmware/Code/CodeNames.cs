using System.Text;

namespace Throughline.Firmware;

/// <summary>Names of the file as names in C.</summary>
internal static class CodeNames
{
    /// <summary>The words of C99, and of C11 and C++ that compilers for C99 may take for words, that letters and _ can spell.</summary>
    private static readonly HashSet<string> Reserved =
    [
        "auto", "break", "case", "char", "const", "continue", "default", "do", "double", "else", "enum", "extern", "float", "for", "goto", "if", "inline", "int", "long", "register",
        "restrict", "return", "short", "signed", "sizeof", "static", "struct", "switch", "typedef", "union", "unsigned", "void", "volatile", "while", "bool", "true", "false", "asm",
        "bit", "code", "data", "near", "far", "interrupt", "class", "new", "delete", "this",
    ];

    /// <summary>Small letters, digits and _; different from all before.</summary>
    public static string Unique(string name, HashSet<string> taken)
    {
        StringBuilder text = new();
        foreach (char c in name.ToLowerInvariant())
        {
            char plain = char.IsAsciiLetterOrDigit(c) ? c : '_';
            if (plain != '_' || (text.Length > 0 && text[^1] != '_'))
            {
                text.Append(plain);
            }
        }

        string own = text.ToString().TrimEnd('_');
        own = own.Length == 0 || char.IsAsciiDigit(own[0]) || Reserved.Contains(own) ? "item_" + own : own;
        own = own.TrimEnd('_');
        string found = own;
        for (int i = 2; !taken.Add(found); i++)
        {
            found = FormattableString.Invariant($"{own}_{i}");
        }

        return found;
    }
}
