namespace Throughline.Circuits.Tests;

/// <summary>Reads the probes of answers.csv: V(node), I(element), element names for their values, numbers, + − × ÷ and brackets.</summary>
public sealed class Expression(string text, Func<string, double> voltage, Func<string, double> current, Func<string, double> value)
{
    private int _at;

    public double Evaluate()
    {
        double result = Sum();
        return _at == text.Length ? result : throw new FormatException($"Cannot read {text} from {text[_at..]}.");
    }

    private double Sum()
    {
        double result = Product();
        while (_at < text.Length && text[_at] is '+' or '-')
            result += text[_at++] == '+' ? Product() : -Product();
        return result;
    }

    private double Product()
    {
        double result = Factor();
        while (_at < text.Length && text[_at] is '*' or '/')
            result = text[_at++] == '*' ? result * Factor() : result / Factor();
        return result;
    }

    private double Factor()
    {
        if (text[_at] == '(')
        {
            _at++;
            double inner = Sum();
            _at++;
            return inner;
        }

        int start = _at;
        while (_at < text.Length && (char.IsLetterOrDigit(text[_at]) || text[_at] == '.'))
            _at++;
        string word = text[start.._at];
        if (_at < text.Length && text[_at] == '(' && word is "V" or "I")
        {
            int close = text.IndexOf(')', _at);
            string name = text[(_at + 1)..close];
            _at = close + 1;
            return word == "V" ? voltage(name) : current(name);
        }

        return char.IsDigit(word[0]) ? ReferenceTables.Number(word) : value(word);
    }
}
