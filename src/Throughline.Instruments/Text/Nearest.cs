namespace Throughline.Instruments;

/// <summary>Finds the word a person most likely meant.</summary>
internal static class Nearest
{
    private const int LongestWord = 64;
    private const int MostListed = 24;
    private const int LongestEnding = 3;

    /// <summary>Candidates beyond these are not looked at: a file of a million characters must not take minutes to judge.</summary>
    private const int MostCandidates = 2000;

    /// <summary>The nearest of the candidates, null when none is near: at most a third of the letters wrong, one in a short word, or the same word with
    /// another ending.</summary>
    public static string? Of(string word, IEnumerable<string> candidates)
    {
        if (word.Length is 0 or > LongestWord)
        {
            return null;
        }

        string? best = null;
        int bestDistance = int.MaxValue;
        foreach (string candidate in candidates.Take(MostCandidates))
        {
            int limit = HasOtherEnding(word, candidate) ? LongestEnding : Math.Max(1, Math.Min(word.Length, candidate.Length) / 3);
            if (candidate.Length > LongestWord || candidate == word || Math.Abs(candidate.Length - word.Length) > limit)
            {
                continue;
            }

            int distance = Distance(word, candidate);
            bool sooner = distance < bestDistance || (distance == bestDistance && string.CompareOrdinal(candidate, best) < 0);

            // A letter that is wholly another one is no slip of the pen.
            if (distance <= limit && distance < Math.Max(word.Length, candidate.Length) && sooner)
            {
                best = candidate;
                bestDistance = distance;
            }
        }

        return best;
    }

    /// <summary>Says which words may stand there; of very many the first few.</summary>
    public static string OneOf(IEnumerable<string> words)
    {
        string[] first = [.. words.Take(MostListed + 1)];
        return first.Length == 0 ? "nothing: there is none yet"
            : (first.Length == 1 ? "" : "one of ") + string.Join(", ", first.Take(MostListed).Select(w => $"`{ScalarNode.Short(w)}`")) + (first.Length > MostListed ? ", …" : "");
    }

    /// <summary>The mend that names the nearest word, or null.</summary>
    public static string? Mend(string word, IEnumerable<string> candidates) => Of(word, candidates) is { } near ? $"write `{near}`" : null;

    /// <summary>Edit distance with exchange of neighbours (optimal string alignment); case, and a blank against a hyphen, count as nothing.</summary>
    internal static int Distance(string a, string b)
    {
        Span<int> before = stackalloc int[b.Length + 1];
        Span<int> previous = stackalloc int[b.Length + 1];
        Span<int> current = stackalloc int[b.Length + 1];
        for (int j = 0; j <= b.Length; j++)
        {
            previous[j] = j;
        }

        for (int i = 1; i <= a.Length; i++)
        {
            current[0] = i;
            for (int j = 1; j <= b.Length; j++)
            {
                int cost = Same(a[i - 1], b[j - 1]) ? 0 : 1;
                int least = Math.Min(Math.Min(previous[j] + 1, current[j - 1] + 1), previous[j - 1] + cost);
                if (i > 1 && j > 1 && Same(a[i - 1], b[j - 2]) && Same(a[i - 2], b[j - 1]))
                {
                    least = Math.Min(least, before[j - 2] + 1);
                }

                current[j] = least;
            }

            Span<int> spare = before;
            before = previous;
            previous = current;
            current = spare;
        }

        return previous[b.Length];
    }

    /// <summary>As <c>supply</c> and <c>supplies</c>: at least five letters alike, and all but one of the shorter word.</summary>
    private static bool HasOtherEnding(string a, string b)
    {
        int alike = 0;
        while (alike < a.Length && alike < b.Length && Same(a[alike], b[alike]))
        {
            alike++;
        }

        return alike >= 5 && alike >= Math.Min(a.Length, b.Length) - 1;
    }

    private static bool Same(char a, char b) => Fold(a) == Fold(b);

    private static char Fold(char c) => c is '-' or '_' or ' ' ? '-' : char.ToLowerInvariant(c);
}
